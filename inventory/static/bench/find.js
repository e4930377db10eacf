// "Which one is R47?": typing a reference lights its pin and its row, and says what is there; so does a tap on the map.
"use strict";
const box = document.querySelector("[data-finds]");
const found = document.getElementById("found");
const onMorePages = box !== null && box.dataset.finds === "page"; // what is not here is asked of the server

const light = (ref, how = {}) => {
  const wanted = ref.trim().toUpperCase();
  let row = null;
  let begun = false; // a reference begins with what is typed so far
  for (const each of document.querySelectorAll("[data-ref]")) {
    begun ||= each.dataset.ref.toUpperCase().startsWith(wanted);
    const is = wanted !== "" && each.dataset.ref.toUpperCase() === wanted;
    each.classList.toggle("lit", is);
    row = is ? each : row;
  }
  let pin = null;
  for (const each of document.querySelectorAll("[data-pin]")) {
    const is = wanted !== "" && each.dataset.pin.toUpperCase() === wanted;
    each.classList.toggle("lit-pin", is);
    if (is) {
      pin = each;
      if (each.closest("svg")) {
        each.parentNode.append(each); // above its neighbours
      }
    }
  }
  if (found) {
    const nowhere = wanted !== "" && row === null && (how.asked || !begun) && !onMorePages;
    found.hidden = row === null && !nowhere;
    if (nowhere) {
      found.querySelector(".value").textContent = wanted;
      found.querySelector(".what").textContent = "There is no such position on this board.";
      found.querySelector(".where").textContent = "";
      found.scrollIntoView({ block: "nearest" });
    }
    if (row) {
      for (let fold = row.closest("details"); fold; fold = fold.parentElement.closest("details")) {
        fold.open = true;
      }
      const [what, state, holds] = [...row.querySelectorAll("td")].map((cell) => cell.innerText.replace(/\s+/g, " ").trim());
      found.querySelector(".value").textContent = row.dataset.ref;
      found.querySelector(".what").textContent = what;
      found.querySelector(".where").textContent = [state, holds].filter(Boolean).join(": ");
    }
  }
  const target = pin || row;
  if (target && !how.gently) {
    target.scrollIntoView({ block: "center", inline: "center" });
  }
};

if (box) {
  box.addEventListener("input", () => light(box.value));
  box.form.addEventListener("submit", (event) => {
    if (onMorePages) {
      return;
    }
    event.preventDefault();
    light(box.value, { asked: true });
  });
}
for (const each of box ? document.querySelectorAll(".grid [data-pin]") : []) {
  each.addEventListener("click", (event) => {
    event.preventDefault();
    box.value = each.dataset.pin;
    light(each.dataset.pin, { gently: true });
  });
}
for (const map of document.querySelectorAll("[data-map]:not([data-pinning])")) {
  map.addEventListener("click", (event) => {
    let nearest = null;
    let least = 60;
    for (const pin of map.querySelectorAll("[data-pin]")) {
      const edge = pin.querySelector("use").getBoundingClientRect();
      const away = Math.hypot(edge.left + edge.width / 2 - event.clientX, edge.top + edge.height / 2 - event.clientY);
      if (away < least) {
        [nearest, least] = [pin, away];
      }
    }
    if (nearest) {
      if (box) {
        box.value = nearest.dataset.pin;
      }
      light(nearest.dataset.pin, { gently: true });
    }
  });
}
const lit = document.querySelector(".map .lit-pin");
if (lit) {
  lit.parentNode.append(lit);
  const map = lit.closest(".map");
  const edge = lit.querySelector("use").getBoundingClientRect();
  map.scrollLeft += edge.left - map.getBoundingClientRect().left - map.clientWidth / 2;
}
