/* From cell to cell of a draft by keyboard: arrows, and Enter to the next strake. Leaving a changed cell fires its
   change, and htmx sends it. Without this script Tab goes from cell to cell and Enter saves the row. */
(function () {
  "use strict";

  function fieldOf(cell) {
    return cell ? cell.querySelector("input:not([type=hidden])") : null;
  }

  // The next cell that can be typed in, row by row or cell by cell; locked ones are passed over.
  function next(cell, down, along) {
    let row = cell.parentElement;
    let index = cell.cellIndex;
    for (;;) {
      if (down) {
        row = down > 0 ? row.nextElementSibling : row.previousElementSibling;
        if (!row) return null;
      } else {
        index += along;
        if (index < 0 || index >= row.cells.length) return null;
      }
      const field = row.cells.length > index ? fieldOf(row.cells[index]) : null;
      if (field) return field;
    }
  }

  // Left and right belong to the text until the caret stands at its end.
  function leaves(field, along) {
    const whole = field.selectionStart === 0 && field.selectionEnd === field.value.length;
    return whole || (along < 0 ? field.selectionEnd === 0 : field.selectionStart === field.value.length);
  }

  function go(field) {
    field.focus();
    field.select();
  }

  document.addEventListener("keydown", function (event) {
    const field = event.target;
    if (!(field instanceof HTMLInputElement) || !field.closest("[data-cells]") || event.altKey || event.ctrlKey || event.metaKey) return;
    const cell = field.closest("td");
    const moves = { ArrowDown: [1, 0], ArrowUp: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1], Enter: [event.shiftKey ? -1 : 1, 0] };
    if (event.key === "Escape") { field.value = field.defaultValue; field.select(); return; }
    const move = moves[event.key];
    if (!cell || !move || (move[1] && !leaves(field, move[1]))) return;
    event.preventDefault();
    const to = next(cell, move[0], move[1]);
    if (to) go(to); else if (event.key === "Enter") { field.blur(); field.focus(); }
  });
})();
