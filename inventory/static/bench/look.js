// On the picture: a tap goes nearer to that spot, a drag draws the line along which bands are read.
"use strict";
const form = document.querySelector("form[data-live]");
let from = null;

const spot = (picture, event) => {
  const edge = picture.getBoundingClientRect();
  const within = (at) => Math.min(1, Math.max(0, at));
  return [within((event.clientX - edge.left) / edge.width), within((event.clientY - edge.top) / edge.height)];
};

const far = (event) => Math.hypot(event.clientX - from.clientX, event.clientY - from.clientY) > 12;

const draw = (picture, [x1, y1], [x2, y2]) => {
  picture.classList.add("drawn");
  for (const line of picture.querySelectorAll("line")) {
    for (const [name, at] of Object.entries({ x1, y1, x2, y2 })) {
      line.setAttribute(name, at);
    }
  }
};

document.addEventListener("pointerdown", (event) => {
  const picture = event.target.closest("[data-picture]");
  if (picture && event.isPrimary) {
    event.preventDefault();
    picture.setPointerCapture(event.pointerId);
    from = { picture, clientX: event.clientX, clientY: event.clientY, at: spot(picture, event) };
  }
});
document.addEventListener("pointermove", (event) => {
  if (from && far(event)) {
    draw(from.picture, from.at, spot(from.picture, event));
  }
});
document.addEventListener("pointerup", (event) => {
  if (!from) {
    return;
  }
  const to = spot(from.picture, event);
  const detail = far(event)
    ? { line: "1", x1: from.at[0], y1: from.at[1], x2: to[0], y2: to[1] }
    : { "tap-x": from.at[0], "tap-y": from.at[1] };
  from = null;
  if (detail.line) { // what was read along it stands below the picture
    document.addEventListener("fresh", () => document.getElementById("taken").scrollIntoView({ block: "nearest" }), { once: true });
  }
  form.dispatchEvent(new CustomEvent("ask", { detail }));
});
document.addEventListener("pointercancel", () => {
  from = null;
});
// Print that was proposed and picked is typed into the box, where it can be corrected.
form.addEventListener("submit", (event) => {
  const box = event.submitter && event.submitter.dataset.types && document.getElementById(event.submitter.dataset.types);
  if (box) {
    box.value = event.submitter.value;
  }
});
