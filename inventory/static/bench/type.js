// A page with a box that finds takes a reference typed anywhere on it: nothing is tapped first.
"use strict";
document.addEventListener("keydown", (event) => {
  const box = document.querySelector("[data-finds]");
  const typing = event.target.closest("input, select, textarea, summary");
  if (box && !typing && /^[a-z0-9]$/i.test(event.key) && !event.ctrlKey && !event.metaKey && !event.altKey) {
    box.value = "";
    box.focus(); // and the key that was pressed lands in it
  }
});
