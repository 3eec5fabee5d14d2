"""How far apart the two runs are: the strip drawn large, one line for each day that is told about."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from .drawing import Drawing, number
from .strip import Side, draw_line, strip_patterns

TALL = 44.0


@dataclass(frozen=True, slots=True)
class HowFar:
    """One day: its title in words, and the side as it then was."""

    title: str
    side: Side


def how_far(days, width=720, *, summary, key="how-far"):
    """Return the strips, one under the other, the gap of each bracketed."""
    if not days:
        raise ValueError("How far apart needs one day at least.")
    drawing = Drawing(width, f"{key}-{width}")
    y = 0.0
    for day in days:
        drawing.text("p-find", 0, y + 18, day.title, room=width)
        placed = draw_line(drawing, day.side, top=y + 28, height=TALL)
        _bracket(drawing, placed, y + 28 + TALL + 5)
        y += 28 + TALL + 27
    drawing.text("p-label", 0, y + 8, _("keel"))
    drawing.text("p-label p-end", width, y + 8, _("wale"))
    sides = [day.side for day in days]
    return drawing.picture(y + 16, summary, classes="p-figure p-strip", defs=strip_patterns(drawing, sides))


def _bracket(drawing, placed, y):
    """Bracket what is still to be hung, opening by opening."""
    runs = []
    for plank, left, right in placed:
        if plank.state in ("hung", "before_log"):
            continue
        if runs and abs(runs[-1][1] - left) < 1e-6:
            runs[-1][1] = right
        else:
            runs.append([left, right])
    d = "".join(
        f"M{number(left + 0.8)} {number(y)}v9m0 -4.5H{number(right - 0.8)}m0 -4.5v9" for left, right in runs
    )
    drawing.path("p-bracket", d)
