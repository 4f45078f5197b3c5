// The visit form: keeps what is typed, says what is saved, sends again when the connection is back.
// Without this script the form works as plain pages.
(() => {
  "use strict";
  const RETRY_MS = [3000, 6000, 12000, 30000]; // the last one repeats
  const NO_ANSWER = new Set([0, 408, 425, 429, 502, 503, 504]);
  const NOT_TYPED = new Set(["csrfmiddlewaretoken", "typed_by"]);
  const PAGES_OWN = new Set(["forms", "lines"]); // what is on the page is the server's to say

  let form = null;
  let draft = null;
  let retry = null;
  let tries = 0;
  let isPending = false; // a save was asked for and has not been answered

  const clock = (at) => at.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const moment = (at) => at.toDateString() === new Date().toDateString() ? clock(at)
    : `${clock(at)} on ${at.toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric" })}`;
  const say = (text) => { const el = form.querySelector("[data-save-status]"); if (el.textContent !== text) el.textContent = text; };
  const typed = () => [...new FormData(form)].filter(([name, value]) => !NOT_TYPED.has(name) && typeof value === "string");

  // --- Keep ---------------------------------------------------------------------------------------
  const keep = async () => {
    await draft.save({ fields: typed() });
    if (isPending) return;
    say(draft.isKept ? `Not saved yet. Kept on this tablet ${clock(new Date())}`
      : "Not saved yet. This connection is not encrypted, so nothing is kept if the page closes");
  };

  // --- Restore ------------------------------------------------------------------------------------
  const put = (fields) => {
    const wanted = new Map();
    fields.forEach(([name, value]) => wanted.set(name, [...(wanted.get(name) || []), value]));
    for (const el of form.elements) {
      if (!el.name || NOT_TYPED.has(el.name) || PAGES_OWN.has(el.name) || el.type === "submit") continue;
      const values = wanted.get(el.name) || [];
      if (el.type === "radio" || el.type === "checkbox") el.checked = values.includes(el.value);
      else if (values.length) el.value = values[0];
    }
  };
  // Questionnaires that were opened by hand come from the server before their answers are put back.
  const missing = (fields) => fields
    .filter(([name, value]) => name === "forms" && !document.getElementById(`questionnaire-${value}`))
    .map(([, value]) => value);
  const openMissing = (keys) => {
    const page = new URL(location.href);
    const asked = page.searchParams.getAll("also");
    const unasked = keys.filter((key) => !asked.includes(key));
    if (!unasked.length) return false;
    unasked.forEach((key) => page.searchParams.append("also", key));
    location.replace(page);
    return true;
  };
  const restore = async () => {
    const kept = await draft.load();
    if (!kept) return;
    if (openMissing(missing(kept.content.fields))) return;
    put(kept.content.fields);
    showAllTold();
    document.dispatchEvent(new Event("fields-put"));
    const note = document.querySelector("[data-draft-note]");
    note.querySelector("[data-draft-time]").textContent = moment(kept.at);
    note.hidden = false;
    say(`Not saved yet. Kept on this tablet ${moment(kept.at)}`);
    form.querySelectorAll("[data-measure]").forEach((part) => part.dispatchEvent(new Event("change")));
  };

  // --- Send ---------------------------------------------------------------------------------------
  const later = () => {
    isPending = true;
    draft.hold();
    const where = draft.isKept ? "Kept on this tablet; it is sent by itself as soon as the connection is back, while this page stays open."
      : "Leave this page open; it is sent by itself as soon as the connection is back.";
    say(`Not saved yet: no connection. ${where}`);
    clearTimeout(retry);
    retry = setTimeout(send, RETRY_MS[Math.min(tries, RETRY_MS.length - 1)]);
    tries += 1;
  };
  const send = () => {
    clearTimeout(retry);
    if (isPending) form.requestSubmit(form.querySelector("[data-save]"));
  };
  const failed = (status) => {
    if (NO_ANSWER.has(status)) { later(); return; }
    isPending = false;
    say(status === 403 ? "Not saved: this page is out of date, or the case is no longer yours to change. Reload the page; what you typed comes back."
      : status === 404 ? "Not saved: this is no longer there. What you typed is kept on this page."
        : "Not saved: the server could not do this. What you typed is kept; try again.");
  };

  const isSave = (event) => event.detail.elt === form;
  const listen = () => {
    for (const name of ["input", "change"]) form.addEventListener(name, showAllTold);
    form.addEventListener("input", keep);
    form.addEventListener("change", keep);
    form.addEventListener("htmx:beforeRequest", (event) => { if (isSave(event)) { isPending = true; say("Saving…"); } });
    form.addEventListener("form-saved", () => {
      isPending = false;
      clearTimeout(retry);
      draft.drop();
      say(`Saved at ${clock(new Date())}`);
      form.removeEventListener("input", keep);
      form.removeEventListener("change", keep);
    });
    // Failures are told in the save bar, so the page's own message stays away.
    const tell = (status, event) => {
      event.stopPropagation();
      if (isSave(event)) failed(status);
      else if (event.detail.elt.matches("[data-measure]")) {
        const place = event.detail.elt.querySelector(".live-score");
        place.textContent = "The score shows once the connection is back.";
      } else say("Not done: no connection. Try again when it is back.");
    };
    form.addEventListener("htmx:sendError", (event) => tell(0, event));
    form.addEventListener("htmx:timeout", (event) => tell(0, event));
    form.addEventListener("htmx:responseError", (event) => {
      if (event.detail.xhr.status !== 409 && event.detail.xhr.status !== 422) tell(event.detail.xhr.status, event);
    });
  };

  // --- Set up -------------------------------------------------------------------------------------
  const start = () => {
    const found = document.getElementById("visit-form");
    if (!found || found === form) return;
    form = found;
    draft = new window.Draft(form.dataset.draft, form.dataset.draftKey);
    isPending = false;
    tries = 0;
    clearTimeout(retry);
    listen();
    showAllTold();
    if ("typed" in form.dataset) keep();
    else restore();
  };

  const refreshScores = () => form?.querySelectorAll("[data-measure]:has(input:checked)")
    .forEach((part) => part.dispatchEvent(new Event("change")));
  window.addEventListener("online", () => { if (isPending) send(); else refreshScores(); });
  window.addEventListener("beforeunload", (event) => { if (isPending && draft && !draft.isKept && !draft.isDropped) event.preventDefault(); });
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-draft-discard]")) {
      draft.drop();
      location.replace(location.pathname);
    }
    const planned = event.target.closest("[data-as-planned]");
    if (planned) { event.preventDefault(); fillAsPlanned(planned); }
    const weeks = event.target.closest("[data-weeks]");
    if (weeks) setNext(Number(weeks.dataset.weeks));
  });
  // Sessions and sets as prescribed, never pain; the line opens, so that pain is one tap away.
  const fillAsPlanned = (button) => {
    const fill = (field, value) => {
      const el = form.elements[`line-${button.value}-${field}`];
      if (el && value) el.value = value;
    };
    fill("sessions_done", button.dataset.sessions);
    fill("sets_done", button.dataset.sets);
    const line = button.closest(".done-line");
    line.querySelector("details").open = true;
    line.dispatchEvent(new Event("change", { bubbles: true }));
  };
  // What was told of a line stays in sight while the line is closed.
  const showTold = (line) => {
    const read = (field) => form.elements[`line-${line.id.slice(5)}-${field}`]?.value;
    const words = [["sessions_done", "sessions"], ["sets_done", "sets"]]
      .filter(([field]) => read(field)).map(([field, word]) => `${read(field)} ${word}`);
    if (read("pain_during")) words.push(`pain ${read("pain_during")}`);
    line.querySelector("[data-told]").textContent = words.join(", ");
  };
  const showAllTold = () => form?.querySelectorAll(".done-line").forEach(showTold);
  const setNext = (weeks) => {
    const from = form.elements.visited_on.valueAsDate;
    if (!from) return;
    from.setUTCDate(from.getUTCDate() + 7 * weeks);
    form.elements.next_planned_on.valueAsDate = from;
    form.elements.next_planned_on.dispatchEvent(new Event("change", { bubbles: true }));
  };

  document.addEventListener("DOMContentLoaded", start);
  document.addEventListener("htmx:load", (event) => {
    if (document.readyState === "loading") return;
    const before = form;
    start();
    if (form && form === before && form.contains(event.detail.elt) && event.detail.elt.matches("[data-measure]")) keep();
  });
})();
