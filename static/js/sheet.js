/* The photographed sheet in three sizes; it keeps the place in the middle of what is seen. */
(function () {
  "use strict";
  const STEPS = [100, 180, 300];
  document.querySelectorAll("[data-sheet]").forEach(function (view) {
    const part = view.parentElement;
    const larger = part.querySelector("[data-larger]");
    const smaller = part.querySelector("[data-smaller]");
    let step = 0;
    function show(to) {
      const middle = [(view.scrollLeft + view.clientWidth / 2) / view.scrollWidth, (view.scrollTop + view.clientHeight / 2) / view.scrollHeight];
      view.classList.remove("sheet-" + STEPS[step]);
      step = Math.min(Math.max(to, 0), STEPS.length - 1);
      view.classList.add("sheet-" + STEPS[step]);
      view.scrollTo(middle[0] * view.scrollWidth - view.clientWidth / 2, middle[1] * view.scrollHeight - view.clientHeight / 2);
      larger.disabled = step === STEPS.length - 1;
      smaller.disabled = step === 0;
    }
    larger.hidden = smaller.hidden = false;
    larger.addEventListener("click", function () { show(step + 1); });
    smaller.addEventListener("click", function () { show(step - 1); });
    show(0);
  });
})();
