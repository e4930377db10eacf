// The button that opens the print window; the browser's own does the same.
"use strict";
for (const button of document.querySelectorAll("[data-print]")) {
  button.addEventListener("click", () => window.print());
}
