// A form marked data-live is answered as one types: what carries data-fresh is drawn anew, the rest stays.
// Without this script the same form is answered by its button.
"use strict";
for (const form of document.querySelectorAll("form[data-live]")) {
  let asking = null;
  let waiting = 0;

  const put = (answer) => {
    const focused = document.activeElement;
    for (const fresh of answer.querySelectorAll("[data-fresh]")) {
      const old = document.getElementById(fresh.id);
      if (!old || old.innerHTML === fresh.innerHTML) {
        continue;
      }
      const had = old.contains(focused) ? focused : null;
      old.replaceWith(fresh);
      if (had) {
        const same = [...fresh.querySelectorAll("button, input, select, a")].find(
          (each) => each.name === had.name && each.value === had.value && each.id === had.id,
        );
        (same || fresh.querySelector("button, input:not([type=hidden]), select, a") || form.querySelector("[name]:not([type=hidden])")).focus();
      }
    }
    document.dispatchEvent(new CustomEvent("fresh"));
  };

  const ask = async (pressed, more) => {
    clearTimeout(waiting);
    if (asking) {
      asking.abort();
    }
    asking = new AbortController();
    const said = new URLSearchParams(new FormData(form, pressed || null));
    for (const [name, text] of Object.entries(more || {})) {
      said.set(name, text);
    }
    said.set("part", "1");
    try {
      const answer = await fetch(`${form.getAttribute("action")}?${said}`, { signal: asking.signal });
      if (answer.redirected || !answer.ok) {
        form.submit(); // signed out meanwhile, or something that the whole page explains
        return;
      }
      put(new DOMParser().parseFromString(await answer.text(), "text/html"));
      const kept = new URLSearchParams(new FormData(form));
      history.replaceState(null, "", `${form.getAttribute("action")}?${kept}`);
      if (pressed && pressed.dataset.shows) { // asked for by hand, and it may lie below what is seen
        document.getElementById(pressed.dataset.shows).scrollIntoView({ block: pressed.dataset.at || "start" });
      }
    } catch (failed) {
      if (failed.name !== "AbortError") {
        form.submit();
      }
    }
  };

  form.addEventListener("input", (event) => {
    if (event.target.matches("input[type=text], input[type=number]")) {
      clearTimeout(waiting);
      waiting = setTimeout(ask, 250);
    }
  });
  form.addEventListener("change", (event) => {
    if (event.target.matches("select, input[type=checkbox], input[type=radio]")) {
      ask();
    }
  });
  form.addEventListener("submit", (event) => {
    if (!event.submitter || event.submitter.hasAttribute("data-live")) {
      event.preventDefault();
      ask(event.submitter);
    }
  });
  form.addEventListener("ask", (event) => ask(null, event.detail));
}
