// What this browser can do here, tried rather than guessed: a certificate that was clicked away looks safe and is not.
"use strict";

(() => {
  const CAN = {
    keep: () => new Promise((done) => {
      const asked = indexedDB.open("witness-mark-try", 1);
      asked.onsuccess = () => { asked.result.close(); indexedDB.deleteDatabase("witness-mark-try"); done(true); };
      asked.onerror = () => done(false);
    }),
    read: async () => location.protocol === "https:" && Boolean(await navigator.serviceWorker?.register("/sw.js")),
    awake: async () => {
      const lock = await navigator.wakeLock?.request("screen");
      await lock?.release();
      return Boolean(lock);
    },
    install: async () => Boolean(await navigator.serviceWorker?.getRegistration("/")),
    photo: () => matchMedia("(pointer:coarse)").matches,
  };
  async function tell(line) {
    const can = await Promise.resolve().then(CAN[line.dataset.can]).catch(() => false);
    line.querySelector(".due").textContent = can ? "yes" : "no";
    if (can) line.querySelector(".why").hidden = true;
  }
  (async () => { for (const line of document.querySelectorAll("[data-can]")) await tell(line); })();
})();
