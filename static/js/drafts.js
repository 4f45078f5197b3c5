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
  const wipe = () => { try { names().forEach((name) => localStorage.removeItem(name)); } catch { /* nothing kept */ } };

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

    save(content) {
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
      this.waiting = null;
      try { localStorage.removeItem(this.name); } catch { /* nothing kept */ }
    }
  }

  document.addEventListener("submit", (event) => {
    if (new URL(event.target.action, location.href).pathname.endsWith("/sign-out/")) wipe();
  }, true);

  window.Draft = Draft;
})();
