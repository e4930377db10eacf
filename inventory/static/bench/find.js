// "Which one is R47?": typing a reference lights its pin and its row, and says what is there; so does a tap on the map.
"use strict";
const box = document.querySelector("[data-finds]");
const found = document.getElementById("found");

const light = (ref, gently) => {
  const wanted = ref.trim().toUpperCase();
  let row = null;
  for (const each of document.querySelectorAll("[data-ref]")) {
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
    found.hidden = row === null;
    if (row) {
      const [what, state, holds] = [...row.querySelectorAll("td")].map((cell) => cell.innerText.replace(/\s+/g, " ").trim());
      found.querySelector(".value").textContent = row.dataset.ref;
      found.querySelector(".what").textContent = what;
      found.querySelector(".where").textContent = [state, holds].filter(Boolean).join(": ");
    }
  }
  const target = pin || row;
  if (target && !gently) {
    target.scrollIntoView({ block: "center", inline: "center" });
  }
};

if (box) {
  box.addEventListener("input", () => light(box.value));
  box.form.addEventListener("submit", (event) => {
    event.preventDefault();
    light(box.value);
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
      light(nearest.dataset.pin, true);
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
