// What was typed in one form stands there again, and is said to be unsaved, after another form of the page was sent.
// (A form that was refused comes filled from the server.)  What was sent by somebody who was signed out meanwhile stands
// there again once they are back.
"use strict";
const TYPED = `rehome-typed ${window.location.pathname}`;
const SENT = "rehome-sent";
const HERE = document.getElementById("main");
const LASTS = 120000; // ms: a page that is opened again later is opened for something else
const SIGNING_IN = 3600000; // ms: whoever was signed out may come back later

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
      .filter((each) => each.type === "hidden" && !["csrfmiddlewaretoken", "once", "seen", "version"].includes(each.name))
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
const takeOut = (name, lasts) => {
  const kept = JSON.parse(sessionStorage.getItem(name) || "null");
  sessionStorage.removeItem(name);
  return kept && Date.now() - kept.at < lasts ? kept : null;
};

const again = (kept, words) => {
  for (const form of HERE.querySelectorAll("form")) {
    const mine = kept.forms.find((each) => each.form === named(form));
    if (!mine) {
      continue;
    }
    putBack(form, mine.now);
    const line = document.createElement("p");
    line.className = "unsaved";
    line.setAttribute("role", "status");
    line.textContent = words;
    form.append(line);
  }
};

const stood = takeOut(TYPED, LASTS);
if (stood) {
  again(stood, "Not saved yet.");
}
const sent = takeOut(SENT, SIGNING_IN);
if (sent && document.referrer && new URL(document.referrer).pathname.startsWith("/sign-in")) {
  again(sent, "You were signed out before this was sent. It is not saved yet.");
}

const refused = HERE.querySelector("form > [role=alert]");
if (refused) {
  refused.scrollIntoView({ block: "center" });
}

document.addEventListener("submit", (event) => {
  if (HERE.contains(event.target)) {
    sessionStorage.setItem(SENT, JSON.stringify({ at: Date.now(), forms: [described(event.target)] }));
  }
  const forms = [...HERE.querySelectorAll("form")]
    .filter((form) => form !== event.target && fields(form).some((each) => stands(each)[0] !== stands(each)[1]))
    .map(described);
  if (forms.length) {
    sessionStorage.setItem(TYPED, JSON.stringify({ at: Date.now(), forms }));
  }
});
