"""The four shapes of a verdict, drawn in the colour of the words beside them.

Carry on: two planks meeting level. Spread it: posts with even planks between. Change the plan: two planks
that miss each other. Measure the gap: posts with a dimension arrow.
"""

from .checks import one_of
from .drawing import Drawing

WIDTH, HEIGHT = 52, 28
_POSTS = '<path class="p-mark" d="M0 0h6v28h-6zM46 0h6v28h-6z"/>'
SHAPES = {
    "carry_on": '<path class="p-mark" d="M0 8h25v12h-25zM27 8h25v12h-25z"/>',
    "spread_it": _POSTS + '<path class="p-mark-line" d="M9.2 5.5h5.6v17h-5.6zM18.7 5.5h5.6v17h-5.6z'
    'M28.2 5.5h5.6v17h-5.6zM37.7 5.5h5.6v17h-5.6z"/>',
    "change_plan": '<path class="p-mark" d="M0 0h25v13.5h-25zM27 14.5h25v13.5h-25z"/>',
    "measure_gap": _POSTS + '<path class="p-mark-line" d="M9 14H43M15.5 8L9 14l6.5 6M36.5 8L43 14l-6.5 6"/>',
}


def verdict_mark(verdict, *, width=WIDTH, summary=""):
    """Return the shape of a verdict; without a summary it is left out of what a screen reader says."""
    shape = SHAPES[one_of(verdict, tuple(SHAPES), "The verdict")]
    drawing = Drawing(WIDTH, f"mark-{verdict}")
    drawing.add(shape)
    return drawing.mark(HEIGHT, summary, shown_width=width)
