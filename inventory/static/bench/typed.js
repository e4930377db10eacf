// What was typed in one form stands there again, and is said to be unsaved, after another form of the page was sent.
// (A form that was refused comes filled from the server.)
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

const described = (form) => ({ form: named(form), now: fields(form).map((each) => stands(each)[0]) });
const putBack = (form, now) => {
  fields(form).forEach((field, index) => {
    if (typeof now[index] === "boolean") {
      field.checked = now[index];
    } else {
      field.value = now[index];
    }
  });
  for (let around = form.closest("details"); around; around = around.parentElement.closest("details")) {
    around.open = true;
  }
};
const takeOut = (name) => {
  const kept = JSON.parse(sessionStorage.getItem(name) || "null");
  sessionStorage.removeItem(name);
  return kept && Date.now() - kept.at < LASTS ? kept : null;
};

const stood = takeOut(TYPED);
if (stood) {
  for (const form of HERE.querySelectorAll("form")) {
    const kept = stood.forms.find((each) => each.form === named(form));
    if (!kept) {
      continue;
    }
    putBack(form, kept.now);
    const line = document.createElement("p");
    line.className = "unsaved";
    line.setAttribute("role", "status");
    line.textContent = "Not saved yet.";
    form.append(line);
  }
}

const refused = HERE.querySelector("form > [role=alert]");
if (refused) {
  refused.scrollIntoView({ block: "center" });
}

document.addEventListener("submit", (event) => {
  const forms = [...HERE.querySelectorAll("form")]
    .filter((form) => form !== event.target && fields(form).some((each) => stands(each)[0] !== stands(each)[1]))
    .map(described);
  if (forms.length) {
    sessionStorage.setItem(TYPED, JSON.stringify({ at: Date.now(), forms }));
  }
});
