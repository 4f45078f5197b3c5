// Beside the fields of every form: a chosen day in words, and a complaint that goes once its field is mended.
// Pages work without it; the server checks again at every save.
(() => {
  "use strict";
  const DAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
  const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

  // --- Days in words --------------------------------------------------------------------------------
  const inWords = (day) => day ? `${DAYS[day.getUTCDay()]} ${day.getUTCDate()} ${MONTHS[day.getUTCMonth()]} ${day.getUTCFullYear()}` : "";
  const showDay = (field) => {
    let place = field.nextElementSibling;
    if (!place?.matches(".day-words")) {
      place = document.createElement("span");
      place.className = "day-words";
      field.after(place);
    }
    place.textContent = inWords(field.valueAsDate);
  };
  const showDays = (part) => part.querySelectorAll('input[type="date"]').forEach(showDay);

  // --- Complaints -----------------------------------------------------------------------------------
  // What was refused is what the server sent back: the default of each field.
  const wasRefused = (field) => field.tagName === "SELECT"
    ? field.value === (field.querySelector("option[selected]") || field.options[0])?.value
    : field.type === "radio" || field.type === "checkbox" ? field.checked === field.defaultChecked
      : field.value.trim() === field.defaultValue.trim();
  const isMended = (part) => {
    const fields = [...part.querySelectorAll("input:not([type=hidden]), select, textarea")];
    return !fields.every(wasRefused) && fields.every((field) => field.validity.valid);
  };
  const strike = (part) => document.querySelectorAll('.error-summary a[href^="#"]').forEach((link) => {
    const entry = link.closest("li");
    if (entry.matches(".is-mended") || !part.contains(document.getElementById(link.hash.slice(1)))) return;
    entry.classList.add("is-mended");
    const word = document.createElement("span");
    word.className = "visually-hidden";
    word.textContent = "Changed: ";
    link.prepend(word);
  });
  // The empty line stays, so that nothing moves under the finger.
  const mend = (part) => {
    part.classList.replace("is-wrong", "was-wrong");
    part.querySelectorAll(".field-error").forEach((error) => { error.replaceChildren("\u00a0"); error.classList.add("is-mended"); });
    part.querySelectorAll("[aria-invalid]").forEach((field) => field.removeAttribute("aria-invalid"));
    strike(part);
  };
  const look = (changed) => [changed.closest?.(".is-wrong"), ...(changed.querySelectorAll?.(".is-wrong") || [])]
    .filter((part) => part && isMended(part)).forEach(mend);

  document.addEventListener("change", (event) => {
    look(event.target);
    if (event.target.type === "date") showDay(event.target);
  });
  document.addEventListener("input", (event) => { if (event.target.type === "date") showDay(event.target); });
  document.addEventListener("fields-put", () => showDays(document));
  document.addEventListener("DOMContentLoaded", () => showDays(document));
  document.addEventListener("htmx:load", (event) => showDays(event.detail.elt));
})();
