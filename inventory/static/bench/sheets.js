// A form marked data-counts is sent with a bar that counts: bytes on the way, then rows as the bench does them.
// Without this script the same form is sent by the browser, and the page waits.
"use strict";
document.addEventListener("submit", (event) => {
  const form = event.target;
  const main = document.querySelector("main");
  const box = document.getElementById("counting");
  if (!form.matches("form[data-counts]") || !box || main.hasAttribute("aria-busy")) {
    if (main.hasAttribute("aria-busy")) {
      event.preventDefault(); // a second tap while the first is on its way
    }
    return;
  }
  event.preventDefault();
  const what = document.getElementById("counting-what");
  const bar = document.getElementById("counting-bar");
  const figures = document.getElementById("counting-figures");
  const stopping = document.getElementById("counting-stop");
  const count = (said, done, total, told) => {
    if (what.textContent !== said) {
      what.textContent = said;
    }
    if (total) {
      bar.max = total;
      bar.value = Math.min(done, total);
    } else {
      bar.removeAttribute("value");
    }
    figures.textContent = told;
  };
  const stop = (said) => {
    clearInterval(asking);
    stopping.hidden = true;
    main.removeAttribute("aria-busy");
    box.classList.add("stopped");
    count(said, 0, 1, "");
  };

  const file = form.querySelector("input[type=file]");
  const size = file && file.files.length ? file.files[0].size : 0;
  const tenths = (bytes) => (bytes / 1048576).toFixed(1);
  box.hidden = false;
  box.classList.remove("stopped");
  form.after(box);
  let asking = 0;
  if (size > Number(form.dataset.most || Infinity)) {
    stop(`${file.files[0].name} is larger than ${tenths(form.dataset.most)} MB, the maximum: split it.`);
    return;
  }
  main.setAttribute("aria-busy", "true");
  stopping.hidden = false;
  stopping.disabled = false;
  count("Sending the file", 0, size, size ? `0 of ${tenths(size)} MB` : "");
  box.scrollIntoView({ block: "center" });

  const said = new FormData(form);
  if (event.submitter && event.submitter.name) {
    said.set(event.submitter.name, event.submitter.value);
  }
  const about = () => {
    const question = new FormData();
    question.set("watch", said.get("watch"));
    question.set("csrfmiddlewaretoken", said.get("csrfmiddlewaretoken"));
    return question;
  };
  const ask = async () => {
    try {
      const answer = await fetch(form.dataset.counts, { method: "POST", body: about() });
      const now = answer.ok ? await answer.json() : {};
      if (now.stage && main.hasAttribute("aria-busy")) {
        const of = now.total ? ` of ${now.total.toLocaleString("en-GB")}` : "";
        const stage = now.stage[0].toUpperCase() + now.stage.slice(1);
        count(`${stage} the rows`, now.done, now.total, `${now.done.toLocaleString("en-GB")}${of} rows`);
      }
    } catch (failed) {
      // the answer itself says whether the line broke
    }
  };
  const sending = new XMLHttpRequest();
  sending.upload.addEventListener("progress", (sent) => {
    count("Sending the file", sent.loaded, sent.total, `${tenths(sent.loaded)} of ${tenths(sent.total)} MB`);
  });
  let sent = false;
  sending.upload.addEventListener("load", () => {
    sent = true;
    asking = setInterval(ask, 300);
  });
  stopping.onclick = () => {
    if (!sent) {
      sending.abort();
      stop("Stopped before the file was sent.");
      return;
    }
    stopping.disabled = true; // what came of it is in the answer
    fetch(box.dataset.stop, { method: "POST", body: about() }).catch(() => {
      stopping.disabled = false;
    });
  };
  sending.addEventListener("error", () => {
    stop("The line broke. Nothing lands twice: press the button again.");
  });
  sending.addEventListener("load", () => {
    clearInterval(asking);
    const answer = new DOMParser().parseFromString(sending.responseText, "text/html");
    const fresh = answer.querySelector("main");
    if (sending.status === 413 && !fresh) {
      stop("The file is larger than what is taken in: split it.");
    } else if (sending.status >= 500) {
      stop(`The bench failed (${sending.status}), and nothing of it was imported. Its log says why.`);
    } else if (!fresh || !answer.querySelector("nav.tabs")) {
      location.assign(location.pathname); // signed out meanwhile, or nothing that this page knows
    } else {
      main.replaceWith(fresh);
      fresh.focus({ preventScroll: true });
      scrollTo(0, 0);
    }
  });
  sending.open("POST", form.getAttribute("action"));
  sending.send(said);
});
