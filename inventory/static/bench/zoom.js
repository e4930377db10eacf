// A board's picture comes nearer: by two buttons, by the wheel with Ctrl, by two fingers.
"use strict";
document.documentElement.classList.add("js");
const LEAST = 0.4;
const MOST = 5;
for (const map of document.querySelectorAll("[data-map]")) {
  let zoom = 1;
  const to = (wanted, x, y) => {
    const before = zoom;
    zoom = Math.min(MOST, Math.max(LEAST, wanted));
    map.style.setProperty("--zoom", zoom);
    const grown = zoom / before; // what lies under the fingers stays under them
    map.scrollLeft = (map.scrollLeft + x) * grown - x;
    map.scrollTop = (map.scrollTop + y) * grown - y;
  };
  const at = (point) => {
    const edge = map.getBoundingClientRect();
    return [point.clientX - edge.left, point.clientY - edge.top];
  };
  map.addEventListener("wheel", (event) => {
    if (event.ctrlKey) {
      event.preventDefault();
      to(zoom * Math.exp(-event.deltaY / 300), ...at(event));
    }
  }, { passive: false });
  let apart = 0;
  map.addEventListener("touchmove", (event) => {
    if (event.touches.length !== 2) {
      apart = 0;
      return;
    }
    event.preventDefault();
    const [one, other] = event.touches;
    const now = Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
    if (apart) {
      to(zoom * (now / apart), ...at({ clientX: (one.clientX + other.clientX) / 2, clientY: (one.clientY + other.clientY) / 2 }));
    }
    apart = now;
  }, { passive: false });
  map.addEventListener("touchend", () => { apart = 0; });
  let next = map.nextElementSibling;
  for (const button of next ? next.querySelectorAll("[data-zoom]") : []) {
    button.addEventListener("click", () => to(zoom * Number(button.dataset.zoom), map.clientWidth / 2, map.clientHeight / 2));
  }
}
