// "Which one is R47?": typing a reference brings its row into sight and marks it.
"use strict";
for (const box of document.querySelectorAll("[data-finds]")) {
  box.addEventListener("input", () => {
    const ref = box.value.trim().toUpperCase();
    for (const row of document.querySelectorAll("[data-ref]")) {
      const found = ref !== "" && row.dataset.ref.toUpperCase() === ref;
      row.classList.toggle("lit", found);
      if (found) {
        row.scrollIntoView({ block: "center" });
      }
    }
  });
}
