/* How many photographs are ticked, and all of a page at once. Without this script the link loads the page with all ticked. */
(function () {
  "use strict";
  const form = document.querySelector("form[data-ticks]");
  if (!form) return;
  const said = form.querySelector("[data-ticked]");
  const all = form.querySelector("[data-tick-all]");
  const boxes = function () { return Array.from(form.querySelectorAll("input[name=photo]")); };
  function say() {
    const count = boxes().filter(function (box) { return box.checked; }).length;
    said.textContent = count ? said.dataset.words.replace("{n}", count) : "";
  }
  all.addEventListener("click", function (event) {
    event.preventDefault();
    const some = boxes().some(function (box) { return !box.checked; });
    boxes().forEach(function (box) { box.checked = some; });
    say();
  });
  form.addEventListener("change", say);
  say();
})();
