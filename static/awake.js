// The screen stays awake while a stint is worked through, where the browser allows it.
"use strict";

(() => {
  const stay = () => {
    if (document.visibilityState === "visible") navigator.wakeLock?.request("screen").catch(() => {});
  };
  document.addEventListener("visibilitychange", stay);
  stay();
})();
