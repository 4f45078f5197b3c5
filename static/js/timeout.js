// A warning before the sign-in runs out, and a way in again over the page that was left open.
// Without it the server ends the session just the same, and hands a form back at the next sign-in.
(() => {
  "use strict";
  const dialog = document.querySelector("[data-timeout]");
  if (!dialog) return;
  const SECOND = 1000;
  const idle = Number(dialog.dataset.idle) * SECOND;
  const warn = Number(dialog.dataset.warn) * SECOND;
  const part = (name) => dialog.querySelector(`[data-stage="${name}"]`);
  const error = dialog.querySelector("[data-error]");
  const form = part("over");
  let wholeEnd = Date.now() + Number(dialog.dataset.left) * SECOND;
  let idleEnd = Date.now() + idle;
  let stage = "";

  const used = () => { if (stage !== "over") idleEnd = Date.now() + idle; };
  const token = () => JSON.parse(document.body.getAttribute("hx-headers"))["x-csrftoken"];
  const send = (url, body) => fetch(url, {
    method: "POST", body, credentials: "same-origin", redirect: "manual", headers: { "x-csrftoken": token() } });

  const show = (next) => {
    if (stage === next) return;
    stage = next;
    if (!next) { dialog.close(); return; }
    part("warning").hidden = next !== "warning";
    form.hidden = next !== "over";
    dialog.classList.toggle("is-over", next === "over");
    document.documentElement.classList.toggle("is-covered", next === "over");
    dialog.querySelector("[data-title]").textContent =
      next === "over" ? "Signed out: type your passphrase to go on" : "You are about to be signed out";
    if (!dialog.open) dialog.showModal();
    dialog.querySelector(next === "over" ? "input[type=password]" : "[data-stay-now]").focus();
  };
  const inWords = (ms) => {
    const seconds = Math.max(0, Math.ceil(ms / SECOND));
    if (seconds > 60) return `${Math.ceil(seconds / 60)} minutes`;
    return seconds === 1 ? "1 second" : `${seconds} seconds`;
  };

  const look = () => {
    const left = Math.min(idleEnd, wholeEnd) - Date.now();
    if (stage === "over") return;
    if (left <= 0) { show("over"); return; }
    if (left > warn) { show(""); return; }
    dialog.querySelector("[data-seconds]").textContent = inWords(left);
    // The whole time of a session cannot be stretched: only the passphrase begins a new one.
    if (wholeEnd <= idleEnd) dialog.querySelector("[data-stay-now]").hidden = true;
    show("warning");
  };

  const stay = async () => {
    try {
      const answer = await send(dialog.dataset.stay);
      if (answer.status === 204) { used(); look(); return; }
    } catch { return; /* no connection: the warning stays */ }
    show("over");
  };

  const goOn = (fresh) => {
    document.querySelectorAll("input[name=csrfmiddlewaretoken]").forEach((el) => { el.value = fresh; });
    document.body.setAttribute("hx-headers", JSON.stringify({ "x-csrftoken": fresh }));
    form.querySelectorAll("input:not([type=hidden])").forEach((el) => { el.value = ""; });
    error.hidden = true;
    document.documentElement.classList.remove("is-covered");
    wholeEnd = Infinity; // begun anew; the next page brings its own end
    stage = "warning";
    used();
    look();
  };
  const refuse = (words) => {
    error.textContent = words;
    error.hidden = false;
    form.querySelector("input[type=password]").focus();
  };

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    event.stopPropagation();
    try {
      const answer = await send(dialog.dataset.again, new FormData(form));
      const said = await answer.json().catch(() => ({}));
      if (said.token) goOn(said.token);
      else refuse(said.error || "The server did not accept this. Sign in on another page of this device, then try again.");
    } catch { refuse("There is no connection. What you entered is still on this page; try again."); }
    // It stays on the page: the guard against a second tap lets it be sent again.
    finally { delete form.dataset.sentAt; }
  });
  dialog.querySelector("[data-stay-now]").addEventListener("click", stay);
  dialog.addEventListener("cancel", (event) => {
    event.preventDefault();
    if (stage === "warning") stay();
  });
  document.addEventListener("htmx:afterRequest", (event) => { if (event.detail.successful) used(); });
  window.addEventListener("pageshow", look);
  document.addEventListener("visibilitychange", look);
  setInterval(look, SECOND);
})();
