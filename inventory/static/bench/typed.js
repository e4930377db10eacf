// What was typed in one form stands there again, and is said to be unsaved, after another form of the page was sent.
// (A form that was refused comes filled from the server.)  What was sent by somebody who was signed out meanwhile stands
// there again once they are back; nobody else is shown it, although they sit at the same tablet.
"use strict";
const TYPED_ON = "rehome-typed ";
const TYPED = TYPED_ON + window.location.pathname;
const SENT = "rehome-sent";
const HERE = document.getElementById("main");
const WHO = document.getElementById("kept").dataset.who;
const LASTS = 120000; // ms: a page that is opened again later is opened for something else
const SIGNING_IN = 3600000; // ms: whoever was signed out may come back later
const NOT_ITS_NAME = ["csrfmiddlewaretoken", "once", "seen", "version", "watch", "next"]; // they differ each time
const SECRET = ["one-time-code", "current-password", "new-password"];

const isTyped = (field) =>
  field.name && !["hidden", "password", "file", "submit", "button"].includes(field.type) && !SECRET.includes(field.autocomplete);
const stands = (field) => {
  if (field.type === "checkbox" || field.type === "radio") {
    return [field.checked, field.defaultChecked];
  }
  if (field.multiple && field.options) {
    const chosen = (which) => JSON.stringify([...field.options].filter(which).map((each) => each.value));
    return [chosen((each) => each.selected), chosen((each) => each.defaultSelected)];
  }
  if (field.options) {
    const before = [...field.options].find((each) => each.defaultSelected) || field.options[0];
    return [field.value, before ? before.value : ""];
  }
  return [field.value, field.defaultValue];
};
const fields = (form) => [...form.elements].filter(isTyped);
const kindOf = (form) =>
  JSON.stringify([
    new URL(form.getAttribute("action") || "", window.location).pathname,
    ...[...form.elements]
      .filter((each) => each.type === "hidden" && !NOT_ITS_NAME.includes(each.name))
      .map((each) => [each.name, each.value]),
    ...fields(form).map((each) => each.name),
  ]);
const asItCame = (form) => JSON.stringify(fields(form).map((each) => stands(each)[1]));

const described = (form) => ({ kind: kindOf(form), came: asItCame(form), now: fields(form).map((each) => stands(each)[0]) });
const putBack = (form, now) => {
  fields(form).forEach((field, index) => {
    if (typeof now[index] === "boolean") {
      field.checked = now[index];
    } else if (field.multiple && field.options) {
      const chosen = JSON.parse(now[index]);
      for (const each of field.options) {
        each.selected = chosen.includes(each.value);
      }
    } else {
      field.value = now[index];
    }
  });
  for (let around = form.closest("details"); around; around = around.parentElement.closest("details")) {
    around.open = true;
  }
};
const forget = (spared) => {
  for (const name of Object.keys(sessionStorage)) {
    if ((name === SENT || name.startsWith(TYPED_ON)) && JSON.parse(sessionStorage.getItem(name)).who !== spared) {
      sessionStorage.removeItem(name);
    }
  }
};
const keep = (name, forms) => sessionStorage.setItem(name, JSON.stringify({ at: Date.now(), who: WHO, forms }));
const takeOut = (name, lasts) => {
  const kept = JSON.parse(sessionStorage.getItem(name) || "null");
  sessionStorage.removeItem(name);
  return kept && Date.now() - kept.at < lasts ? kept.forms : [];
};

// Each goes into a form that came as its own did; where `changed` ones will do, else into the only one of its kind.
const again = (forms, words, changed) => {
  const free = [...HERE.querySelectorAll("form")].map((form) => [form, kindOf(form), asItCame(form)]);
  for (const kept of forms) {
    const alike = free.filter(([, kind]) => kind === kept.kind);
    const only = changed && alike.length === 1 ? alike[0] : null;
    const found = alike.find(([, , came]) => came === kept.came) || only;
    if (!found) {
      continue;
    }
    free.splice(free.indexOf(found), 1);
    putBack(found[0], kept.now);
    const line = document.createElement("p");
    line.className = "unsaved";
    line.setAttribute("role", "status");
    line.textContent = words;
    found[0].append(line);
  }
};

forget(WHO);
again(takeOut(TYPED, LASTS), "Not saved yet.", false);
const sent = takeOut(SENT, SIGNING_IN);
if (document.referrer && new URL(document.referrer).pathname.startsWith("/sign-in")) {
  again(sent, "You were signed out before this was sent. It is not saved yet.", true);
}

const refused = HERE.querySelector("form > [role=alert]");
if (refused) {
  refused.scrollIntoView({ block: "center" });
}

document.addEventListener("submit", (event) => {
  if ((event.target.getAttribute("action") || "").startsWith("/sign-out")) {
    forget(null);
    return;
  }
  if (HERE.contains(event.target)) {
    keep(SENT, [described(event.target)]);
  }
  const forms = [...HERE.querySelectorAll("form")]
    .filter((form) => form !== event.target && fields(form).some((each) => stands(each)[0] !== stands(each)[1]))
    .map(described);
  if (forms.length) {
    keep(TYPED, forms);
  }
});
