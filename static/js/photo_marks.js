/* A tap marks the thing; a stroke begins where the number is to stand and ends at the thing. The form is sent at once.
   Without this script the small picture itself is the button, and the server puts the number beside the thing. */
(function () {
  "use strict";
  const form = document.querySelector("form[data-draw]");
  if (!form) return;
  const frame = form.querySelector("[data-draw-frame]");
  const box = frame.querySelector("svg.crop-box");
  const plain = form.querySelector("input[type=image]");
  let start = null;
  frame.hidden = false;
  plain.remove();
  form.querySelector("[data-no-script]").hidden = true;
  form.querySelector("[data-script]").hidden = false;

  function place(event) {
    const edge = frame.querySelector("img").getBoundingClientRect();
    return [(event.clientX - edge.left) / edge.width, (event.clientY - edge.top) / edge.height].map(function (share) {
      return Math.min(1, Math.max(0, share));
    });
  }
  frame.addEventListener("pointerdown", function (event) {
    start = place(event);
    frame.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  frame.addEventListener("pointermove", function (event) {
    if (!start) return;
    const now = place(event);
    box.removeAttribute("hidden");
    box.querySelector(".crop-line").setAttribute("d", "M" + start.map(hundred).join(" ") + "L" + now.map(hundred).join(" "));
  });
  frame.addEventListener("pointerup", function (event) {
    if (!start) return;
    const end = place(event);
    const far = Math.hypot(end[0] - start[0], end[1] - start[1]) > 0.03;
    form.elements.to_x.value = end[0].toFixed(4);
    form.elements.to_y.value = end[1].toFixed(4);
    if (far) {
      form.elements.x.value = start[0].toFixed(4);
      form.elements.y.value = start[1].toFixed(4);
    }
    start = null;
    form.submit();
  });
  frame.addEventListener("pointercancel", function () { start = null; });
  function hundred(share) { return (share * 100).toFixed(2); }
  // Enter in the field of words keeps words; only a tap on the picture draws.
})();
