/* Shows the choice of light or dark at once, before it is saved; the server's page carries it from then on. */
(function () {
  "use strict";
  document.addEventListener("change", function (event) {
    const input = event.target;
    if (!input.closest("[data-theme-choice]")) return;
    if (input.value === "light" || input.value === "dark") document.documentElement.dataset.theme = input.value;
    else delete document.documentElement.dataset.theme;
  });
})();
