// Pinning: each tap on a picture pins the next reference of the list; all of them are kept with one press.
"use strict";
const form = document.querySelector("[data-pins]");
if (form) {
  const SVG = "http://www.w3.org/2000/svg";
  const list = document.getElementById("refs");
  const next = document.getElementById("next");
  const places = new Set([...document.querySelectorAll("[data-ref]")].map((row) => row.dataset.ref.toUpperCase()));
  const spell = (text) => text.split(/[,;\s]+/).flatMap((piece) => {
    const range = /^([A-Za-z]+)(\d+)-(?:\1)?(\d+)$/.exec(piece);
    return range ? Array.from({ length: Math.max(0, range[3] - range[2] + 1) }, (_each, step) => range[1] + (Number(range[2]) + step)) : piece || [];
  });
  const sent = () => [...form.querySelectorAll("input[name=pin]")];
  const named = () => new Set(sent().map((each) => each.value.split(" ").slice(0, -3).join(" ")));
  const waiting = () => spell(list.value).filter((ref) => !named().has(ref));
  const tell = () => {
    const [first] = waiting();
    const strange = first && !places.has(first.toUpperCase());
    next.textContent = strange ? `There is no place ${first}` : first ? `Tap on ${first}` : "Nothing left to pin";
  };
  const draw = (svg, ref, x, y) => {
    const old = document.querySelector(`[data-pin="${CSS.escape(ref)}"]`);
    if (old && old.closest("svg")) {
      old.remove();
    }
    const pin = document.createElementNS(SVG, "g");
    pin.dataset.pin = ref;
    pin.setAttribute("class", "pin fresh-pin");
    pin.setAttribute("transform", `translate(${x * 1000} ${y * svg.dataset.height})`);
    const shape = document.createElementNS(SVG, "use");
    shape.setAttribute("href", "#pin-pinned");
    const text = document.createElementNS(SVG, "text");
    text.setAttribute("y", "-13");
    text.textContent = ref;
    pin.append(shape, text);
    svg.append(pin);
  };
  const put = (svg, x, y) => {
    const [ref] = waiting();
    if (!ref || !places.has(ref.toUpperCase())) {
      return;
    }
    const pin = document.createElement("input");
    pin.type = "hidden";
    pin.name = "pin";
    pin.value = `${ref} ${x.toFixed(6)} ${y.toFixed(6)} ${svg.dataset.side}`;
    form.append(pin);
    draw(svg, ref, x, y);
    tell();
  };
  for (const map of document.querySelectorAll("[data-map]")) {
    const svg = map.querySelector("svg");
    map.addEventListener("click", (event) => {
      const edge = svg.getBoundingClientRect();
      const [x, y] = [(event.clientX - edge.left) / edge.width, (event.clientY - edge.top) / edge.height];
      if (x >= 0 && x <= 1 && y >= 0 && y <= 1) {
        put(svg, x, y);
      }
    });
    let at = null;
    map.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (!step && event.key !== "Enter") {
        return;
      }
      event.preventDefault();
      if (!at) {
        at = { x: 0.5, y: 0.5, cross: document.createElementNS(SVG, "path") };
        at.cross.setAttribute("class", "cross");
        at.cross.setAttribute("d", "M-40 0H40M0-40V40");
        svg.append(at.cross);
      }
      if (event.key === "Enter") {
        put(svg, at.x, at.y);
        return;
      }
      const far = event.shiftKey ? 0.002 : 0.01;
      at.x = Math.min(1, Math.max(0, at.x + step[0] * far));
      at.y = Math.min(1, Math.max(0, at.y + step[1] * far));
      at.cross.setAttribute("transform", `translate(${at.x * 1000} ${at.y * svg.dataset.height})`);
    });
  }
  form.querySelector("[data-back]").addEventListener("click", () => {
    const last = sent().pop();
    if (last) {
      const ref = last.value.split(" ").slice(0, -3).join(" ");
      last.remove();
      document.querySelector(`.fresh-pin[data-pin="${CSS.escape(ref)}"]`)?.remove();
      tell();
    }
  });
  for (const kept of sent()) {
    const pieces = kept.value.split(" ");
    const svg = document.querySelector(`svg[data-side="${CSS.escape(pieces.at(-1))}"]`);
    if (svg) {
      draw(svg, pieces.slice(0, -3).join(" "), Number(pieces.at(-3)), Number(pieces.at(-2)));
    }
  }
  list.addEventListener("input", tell);
  tell();
}
