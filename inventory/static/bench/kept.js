// A form marked data-kept is not lost with the connection: it stays in this browser and is sent once when the server
// is back.  Its token (name "once") makes the server do it once, even where only the answer was lost.
"use strict";
const SHELF = "rehome-kept";
const line = document.getElementById("kept");
const shelf = () => JSON.parse(localStorage.getItem(SHELF) || "[]");
const mine = () => shelf().filter((each) => each.who === line.dataset.who);
const put = (list) => localStorage.setItem(SHELF, JSON.stringify(list));
const tell = (words) => {
  line.hidden = words === "";
  line.textContent = words;
};
const answers = async () => {
  try {
    return (await fetch("/healthz", { cache: "no-store", signal: AbortSignal.timeout(4000) })).ok;
  } catch {
    return false;
  }
};
const show = () => {
  const waiting = mine();
  for (const form of document.querySelectorAll("form[data-kept]")) {
    const kept = waiting.some((each) => each.fields.some(([name, value]) => name === "once" && value === form.elements.once.value));
    for (const button of form.querySelectorAll("button")) {
      button.disabled = kept;
      button.textContent = kept ? "Kept in this browser" : button.textContent;
    }
  }
  if (waiting.length) {
    tell(`No connection. ${waiting.length} kept in this browser, sent when it is back.`);
  }
};

let sending = false;
const send = async () => {
  if (sending || !line || !mine().length || !(await answers())) {
    return;
  }
  sending = true;
  const refused = [];
  let sent = 0;
  let failed = 0;
  try {
    for (let first = mine()[0]; first; first = mine()[0]) {
      const fields = new URLSearchParams(first.fields);
      const token = document.querySelector("[name=csrfmiddlewaretoken]");
      if (token) {
        fields.set("csrfmiddlewaretoken", token.value); // of now: whoever signed in again has another
      }
      const answer = await fetch(first.address, { method: "POST", body: fields });
      if (answer.status >= 500 || answer.status === 403 || new URL(answer.url).pathname.startsWith("/sign-in")) {
        break; // it stays here until it can be done
      }
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const why = [...page.querySelectorAll("main [role=alert].refused")].map((each) => each.textContent.trim());
      put(shelf().filter((each) => each.at !== first.at));
      if (why.length || !answer.ok) {
        failed += 1;
        refused.push(...(why.length ? why : ["What it is about is not there any more."]));
      } else {
        sent += 1;
      }
    }
  } catch {
    // away again: the rest stays
  }
  sending = false;
  if (mine().length) {
    show();
  } else {
    const done = sent || !failed ? [`${sent} kept here ${sent === 1 ? "was" : "were"} sent.`] : [];
    const not = failed ? [`${failed} kept here ${failed === 1 ? "was" : "were"} refused:`, ...refused] : [];
    tell([...done, ...not].join(" "));
    const anew = document.createElement("a");
    anew.href = "";
    anew.className = "button";
    anew.textContent = "Show the list anew";
    line.append(" ", anew);
  }
};

if (line) {
  for (const form of document.querySelectorAll("form[data-kept]")) {
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      if (await answers()) {
        form.submit();
        return;
      }
      const fields = [...new FormData(form)].map(([name, value]) => [name, String(value)]);
      put([...shelf(), { at: `${Date.now()} ${Math.random()}`, who: line.dataset.who, address: form.action, fields }]);
      show();
    });
  }
  show();
  send();
  window.addEventListener("online", send);
  window.setInterval(send, 10000);
}
