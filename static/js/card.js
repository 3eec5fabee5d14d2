/* A card that stays in sight: the screen is kept awake where the browser can, and paper is one tap away. */
(function () {
  "use strict";
  document.querySelectorAll("[data-print]").forEach(function (button) {
    button.hidden = false;
    button.addEventListener("click", function () { window.print(); });
  });
  if (!("wakeLock" in navigator)) return;
  function keepAwake() {
    if (document.visibilityState === "visible") navigator.wakeLock.request("screen").catch(function () { /* the battery saver said no */ });
  }
  document.addEventListener("visibilitychange", keepAwake);
  keepAwake();
})();
