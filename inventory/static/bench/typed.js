// What was typed in one form stands there again, and is said to be unsaved, after another form of the page was sent.
"use strict";
const TYPED = `rehome-typed ${window.location.pathname}`;
const HERE = document.getElementById("main");
const LASTS = 120000; // ms: a page that is opened again later is opened for something else

const isTyped = (field) => field.name && !["hidden", "password", "file", "submit", "button"].includes(field.type);
const stands = (field) => {
  if (field.type === "checkbox" || field.type === "radio") {
    return [field.checked, field.defaultChecked];
  }
  if (field.options) {
    const before = [...field.options].find((each) => each.defaultSelected) || field.options[0];
    return [field.value, before ? before.value : ""];
  }
  return [field.value, field.defaultValue];
};
const fields = (form) => [...form.elements].filter(isTyped);
const named = (form) =>
  JSON.stringify([
    form.getAttribute("action"),
    ...[...form.elements]
      .filter((each) => each.type === "hidden" && !["csrfmiddlewaretoken", "once", "seen"].includes(each.name))
      .map((each) => [each.name, each.value]),
    ...fields(form).map((each) => [each.name, stands(each)[1]]), // as the page came: only such a form gets it back
  ]);

const stood = JSON.parse(sessionStorage.getItem(TYPED) || "null");
sessionStorage.removeItem(TYPED);
if (stood && Date.now() - stood.at < LASTS) {
  for (const form of HERE.querySelectorAll("form")) {
    const kept = stood.forms.find((each) => each.form === named(form));
    if (!kept) {
      continue;
    }
    fields(form).forEach((field, index) => {
      if (typeof kept.now[index] === "boolean") {
        field.checked = kept.now[index];
      } else {
        field.value = kept.now[index];
      }
    });
    for (let around = form.closest("details"); around; around = around.parentElement.closest("details")) {
      around.open = true;
    }
    const line = document.createElement("p");
    line.className = "unsaved";
    line.setAttribute("role", "status");
    line.textContent = "Not saved yet.";
    form.append(line);
  }
}

document.addEventListener("submit", (event) => {
  const forms = [...HERE.querySelectorAll("form")]
    .filter((form) => form !== event.target && fields(form).some((each) => stands(each)[0] !== stands(each)[1]))
    .map((form) => ({ form: named(form), now: fields(form).map((each) => stands(each)[0]) }));
  if (forms.length) {
    sessionStorage.setItem(TYPED, JSON.stringify({ at: Date.now(), forms }));
  }
});
