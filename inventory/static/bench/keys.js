// One key for each button that names one, while nobody is typing; u presses Undo.
"use strict";
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea")) {
    return;
  }
  if (event.key === "Enter" && event.target.closest("button, a, summary")) {
    return; // it presses what has the focus
  }
  const wanted = event.key === "u" ? ".done button" : `[data-key="${CSS.escape(event.key)}"]`;
  const button = document.querySelector(wanted);
  if (button) {
    event.preventDefault();
    button.click();
    if (button.localName === "summary") {
      button.parentElement.querySelector("input, select, textarea")?.focus();
    }
  }
});
