/* Arrow keys step through a series of still pictures. */
(function () {
  "use strict";
  document.addEventListener("keydown", function (event) {
    if (event.altKey || event.ctrlKey || event.metaKey || /^(INPUT|TEXTAREA|SELECT)$/.test(event.target.tagName)) return;
    const rel = { ArrowLeft: "prev", ArrowRight: "next" }[event.key];
    const link = rel && document.querySelector("#step .pager a[rel=" + rel + "]");
    if (!link) return;
    event.preventDefault();
    link.click();
  });
})();
