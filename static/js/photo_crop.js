/* A frame drawn over the picture with a finger or a mouse fills in the four edges. They may be typed as well. */
(function () {
  "use strict";
  const form = document.querySelector("form[data-crop]");
  if (!form) return;
  const frame = form.querySelector("[data-crop-frame]");
  const box = frame.querySelector("svg");
  const fields = ["left", "top", "right", "bottom"].map(function (name) { return form.elements[name]; });
  let start = null;

  function place(event) {
    const edge = frame.querySelector("img").getBoundingClientRect();
    return [(event.clientX - edge.left) / edge.width, (event.clientY - edge.top) / edge.height].map(function (share) {
      return Math.min(100, Math.max(0, share * 100));
    });
  }
  function draw() {
    const edges = fields.map(function (field) { return parseFloat(field.value.replace(",", ".")); });
    if (edges.some(isNaN)) return;
    const part = "M" + edges[0] + " " + edges[1] + "H" + edges[2] + "V" + edges[3] + "H" + edges[0] + "Z";
    box.querySelector(".crop-shade").setAttribute("d", "M0 0H100V100H0Z" + part);
    box.querySelector(".crop-line").setAttribute("d", part);
    box.hidden = false;
    box.removeAttribute("hidden");
  }
  frame.addEventListener("pointerdown", function (event) {
    start = place(event);
    frame.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  frame.addEventListener("pointermove", function (event) {
    if (!start) return;
    const now = place(event);
    [Math.min(start[0], now[0]), Math.min(start[1], now[1]), Math.max(start[0], now[0]), Math.max(start[1], now[1])]
      .forEach(function (edge, index) { fields[index].value = edge.toFixed(1); });
    draw();
  });
  ["pointerup", "pointercancel"].forEach(function (name) { frame.addEventListener(name, function () { start = null; }); });
  form.addEventListener("input", draw);
})();
