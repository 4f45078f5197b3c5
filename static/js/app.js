// Small manners for every page: theme, focus after a change, one save per tap. All pages work without it.
(() => {
  "use strict";
  const root = document.documentElement;
  root.classList.replace("no-js", "js");

  // --- Theme: as the device, or as chosen on this device -----------------------------------------
  const THEMES = { "": "as this device", light: "light", dark: "dark" };
  const storedTheme = () => {
    try { return localStorage.getItem("theme") || ""; } catch { return ""; }
  };
  const showTheme = (theme) => {
    if (theme) root.dataset.theme = theme; else delete root.dataset.theme;
    document.querySelectorAll("[data-theme-name]").forEach((el) => { el.textContent = THEMES[theme]; });
    document.dispatchEvent(new CustomEvent("themechange"));
  };
  const nextTheme = () => {
    const names = Object.keys(THEMES);
    const theme = names[(names.indexOf(storedTheme()) + 1) % names.length];
    try { localStorage.setItem("theme", theme); } catch { /* private mode: lasts for this page */ }
    showTheme(theme);
  };
  showTheme(storedTheme() in THEMES ? storedTheme() : "");

  // --- Focus --------------------------------------------------------------------------------------
  const focusFirst = (part) => {
    const wanted = part.matches?.("[data-focus]") ? part : part.querySelector?.("[data-focus]");
    wanted?.focus();
    return Boolean(wanted);
  };
  const closeTables = (part) => {
    part.querySelectorAll?.("details[data-closes]").forEach((el) => {
      el.open = false;
      el.removeAttribute("data-closes");
    });
  };

  // --- Answers: a tap that was wrong can be taken back ---------------------------------------------
  const clearAnswer = (button) => {
    const group = button.closest("fieldset");
    const chosen = group?.querySelector("input:checked");
    if (!chosen) return;
    chosen.checked = false;
    chosen.focus();
    chosen.dispatchEvent(new Event("change", { bubbles: true }));
  };

  // --- Saying that a request failed ----------------------------------------------------------------
  const say = (text) => {
    const area = document.getElementById("messages");
    if (!area) return;
    const message = document.createElement("div");
    message.className = "message is-problem";
    message.setAttribute("role", "alert");
    const word = document.createElement("span");
    word.className = "message-word";
    word.textContent = "Not done:";
    const words = document.createElement("span");
    words.className = "message-text";
    words.textContent = text;
    message.append(word, words);
    area.replaceChildren(message);
    area.scrollIntoView({ block: "nearest" });
  };

  document.addEventListener("click", (event) => {
    const clear = event.target.closest("[data-clear]");
    if (clear) clearAnswer(clear);
    if (event.target.closest("[data-theme-next]")) nextTheme();
    if (event.target.closest("[data-print]")) window.print();
  });

  // A second tap on Save while the first is on its way does nothing.
  const ON_ITS_WAY_MS = 4000;
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post") return;
    if (form.dataset.sentAt && Date.now() - Number(form.dataset.sentAt) < ON_ITS_WAY_MS) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    form.dataset.sentAt = String(Date.now());
  }, true);
  const release = (part) => part.querySelectorAll("form[data-sent-at]").forEach((form) => { delete form.dataset.sentAt; });
  window.addEventListener("pageshow", () => release(document));

  document.addEventListener("DOMContentLoaded", () => {
    showTheme(root.dataset.theme || "");
    closeTables(document);
    focusFirst(document);
  });
  document.addEventListener("htmx:afterRequest", () => release(document));
  document.addEventListener("htmx:load", (event) => closeTables(event.detail.elt));
  document.addEventListener("htmx:afterSettle", (event) => {
    if (focusFirst(event.detail.elt)) return;
    // htmx keeps focus where an id is kept; where it is lost, the new part takes it.
    const isByHand = event.detail.requestConfig?.triggeringEvent?.isTrusted;
    if (document.activeElement !== document.body || !isByHand) return;
    const part = event.detail.elt;
    if (!part.hasAttribute("tabindex")) part.setAttribute("tabindex", "-1");
    part.focus({ preventScroll: true });
  });
  document.addEventListener("htmx:sendError", () => say(
    "There is no connection. What you entered is still on this page; try again when the connection is back."));
  document.addEventListener("htmx:timeout", () => say("The server took too long. Try again."));
  document.addEventListener("htmx:responseError", (event) => {
    const status = event.detail.xhr.status;
    say(status === 403 ? "You may not do this, or the page is out of date. Reload it and try again."
      : status === 404 ? "This is no longer there. Reload the page."
        : "The server could not do this. Nothing was saved. Try again, and tell your lead if it happens twice.");
  });
})();
