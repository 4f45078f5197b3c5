// Half-typed forms, kept on this device until they are saved: encrypted, and wiped at sign-out.
// The key comes with the page while somebody is signed in; it is never stored.
(() => {
  "use strict";
  const PREFIX = "draft:";
  const KEEP_DAYS = 7; // project assumption: a form older than a week is no longer of use
  const IV_BYTES = 12; // the length that AES-GCM is made for (NIST SP 800-38D)
  const DAY_MS = 24 * 3600 * 1000;

  const toBase64 = (bytes) => btoa(String.fromCharCode(...new Uint8Array(bytes)));
  const fromBase64 = (text) => Uint8Array.from(atob(text), (char) => char.charCodeAt(0));

  const isKept = () => {
    try { return Boolean(window.isSecureContext && crypto.subtle && localStorage); } catch { return false; }
  };
  const names = () => Object.keys(localStorage).filter((name) => name.startsWith(PREFIX));
  const unsaved = new Map(); // the drafts of this page, on the device or not
  const wipe = () => {
    unsaved.forEach((draft) => draft.drop());
    try { names().forEach((name) => localStorage.removeItem(name)); } catch { /* nothing kept */ }
  };
  const countUnsaved = () => {
    try { dropOld(); return new Set([...names(), ...unsaved.keys()]).size; } catch { return unsaved.size; }
  };

  const dropOld = () => names().forEach((name) => {
    try {
      if (Date.now() - JSON.parse(localStorage.getItem(name)).at < KEEP_DAYS * DAY_MS) return;
    } catch { /* unreadable: drop it */ }
    localStorage.removeItem(name);
  });

  // One draft. Writes follow one another, and none follows `drop`.
  class Draft {
    constructor(id, keyText) {
      this.name = PREFIX + id;
      this.isKept = isKept();
      this.turn = Promise.resolve();
      this.isDropped = false;
      if (!this.isKept) return;
      dropOld();
      this.key = crypto.subtle.importKey("raw", fromBase64(keyText), "AES-GCM", false, ["encrypt", "decrypt"]);
    }

    hold() { unsaved.set(this.name, this); }

    save(content) {
      this.hold();
      if (!this.isKept) return Promise.resolve();
      this.isDropped = false;
      this.waiting = content;
      this.turn = this.turn.then(() => this.write());
      return this.turn;
    }

    async write() {
      const content = this.waiting;
      if (!content || this.isDropped) return;
      this.waiting = null;
      const iv = crypto.getRandomValues(new Uint8Array(IV_BYTES));
      const plain = new TextEncoder().encode(JSON.stringify(content));
      const sealed = await crypto.subtle.encrypt({ name: "AES-GCM", iv }, await this.key, plain);
      if (this.isDropped) return;
      try {
        localStorage.setItem(this.name, JSON.stringify({ at: Date.now(), iv: toBase64(iv), sealed: toBase64(sealed) }));
      } catch { this.isKept = false; /* the device is full: the page is all there is */ }
    }

    // The content with the moment it was kept, or null where there is none that this person can read.
    async load() {
      if (!this.isKept) return null;
      try {
        const kept = JSON.parse(localStorage.getItem(this.name));
        if (!kept) return null;
        const plain = await crypto.subtle.decrypt(
          { name: "AES-GCM", iv: fromBase64(kept.iv) }, await this.key, fromBase64(kept.sealed));
        return { at: new Date(kept.at), content: JSON.parse(new TextDecoder().decode(plain)) };
      } catch { return null; }
    }

    drop() {
      this.isDropped = true;
      unsaved.delete(this.name);
      this.waiting = null;
      try { localStorage.removeItem(this.name); } catch { /* nothing kept */ }
    }
  }

  // --- Signing out wipes what was not saved: first a question ---------------------------------------
  const make = (tag, className, words) => Object.assign(document.createElement(tag), { className, textContent: words });
  const ask = (count, leave) => {
    const [what, it] = count === 1 ? ["One visit is", "it"] : [`${count} visits are`, "them"];
    const dialog = make("dialog", "ask", "");
    const title = make("h2", "", `${what} not saved yet`);
    title.id = "ask-title";
    dialog.setAttribute("aria-labelledby", title.id);
    const stay = make("button", "btn btn-primary", "Stay");
    const go = make("button", "btn", `Sign out and lose ${it}`);
    stay.addEventListener("click", () => dialog.close());
    go.addEventListener("click", leave);
    dialog.addEventListener("close", () => dialog.remove());
    const row = make("div", "btn-row", "");
    row.append(stay, go);
    dialog.append(title, make("p", "", `Stay, or sign out and lose ${it}?`), row);
    document.body.append(dialog);
    dialog.showModal();
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!new URL(form.action, location.href).pathname.endsWith("/sign-out/")) return;
    const count = countUnsaved();
    if (!count) return;
    event.preventDefault();
    delete form.dataset.sentAt;
    ask(count, () => { wipe(); form.submit(); });
  }, true);

  window.Draft = Draft;
})();
