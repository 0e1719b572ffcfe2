// What another phone does shows here within ten seconds. Only whether the build has changed is asked; the
// page itself is asked for again when it has, and never while something is typed on it.
"use strict";

(() => {
  const EVERY = 10000;
  const CALM = 30000; // after five minutes without a change [ms]
  const CALM_AFTER = 300000;
  let changed = Date.now();
  let timer = 0;
  const page = () => document.getElementById("main").dataset;

  async function ask() {
    clearTimeout(timer);
    if (document.visibilityState !== "visible") return;
    const answer = await fetch(page().live, { cache: "no-store", signal: AbortSignal.timeout(5000) }).catch(() => null);
    const revision = await answer?.text().catch(() => "");
    if (answer?.ok && revision !== page().revision) {
      changed = Date.now();
      document.dispatchEvent(new Event("build-changed"));
    }
    if ([401, 404].includes(answer?.status)) location.reload(); // signed out, or a link that was withdrawn
    timer = setTimeout(ask, Date.now() - changed > CALM_AFTER ? CALM : EVERY);
  }
  timer = setTimeout(ask, EVERY);
  document.addEventListener("visibilitychange", ask);
})();
