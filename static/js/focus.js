/* When an answer takes the place of the form it came from, the focus goes to its heading: whoever reads by ear or by
   keyboard stands where the news is, not at the top of the page again. */
(function () {
  "use strict";
  document.addEventListener("htmx:load", function (event) {
    const fresh = event.detail.elt;
    if (fresh === document.body) return;
    const head = fresh.matches("[data-focus]") ? fresh : fresh.querySelector("[data-focus]");
    if (head) head.focus();
  });
})();
