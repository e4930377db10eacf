// `/` goes to the box that finds anything, `?` to the page of keys; on a page with a box of its own that finds,
// a reference typed anywhere lands in it: nothing is tapped first.
"use strict";
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, select, textarea, summary");
  if (typing || event.ctrlKey || event.metaKey || event.altKey) {
    return;
  }
  const anything = document.getElementById("find-anything");
  if (event.key === "/" && anything) {
    event.preventDefault(); // the stroke itself is not looked for
    anything.select();
    anything.focus();
  }
  if (event.key === "?" && anything) {
    window.location.assign("/shortcuts/");
  }
  const box = document.querySelector("[data-finds]");
  if (box && /^[a-z0-9]$/i.test(event.key)) {
    box.value = "";
    box.focus(); // and the key that was pressed lands in it
  }
});
