"""The key under the plank map: only what this map shows, and how it was drawn."""

from django.utils.translation import gettext as _

from .drawing import one_line
from .gap_tags import RECKONED
from .plank_labels import SIGNS
from .text_widths import width_of, wrapped

SWATCH, TALL, LINE = 27.0, 16.0, 28.0


def draw_key(drawing, picture, top):
    """Draw findings (where no gutter has them), swatches and notes; return the height of the sheet."""
    drawing.add('<g class="p-key">')
    y = top
    if not picture.plain:
        if not picture.frame.gutters:
            y = _findings(drawing, picture, y)
        y = _short_strakes(drawing, picture, y)
    y = _flow(drawing, _entries(picture), y)
    y = _notes(drawing, picture, y)
    drawing.add("</g>")
    return y


def _findings(drawing, picture, y):
    """Write each belt that came out wide or narrow on a line of its own."""
    both = len(picture.sides) > 1
    for name, lines in picture.sides.items():
        for belt in (belt for opening in lines.side.openings for belt in opening.belts):
            if belt.tone not in ("wide", "narrow"):
                continue
            y += 24
            mark = ("● " if name == "starboard" else "■ ") if both else ""
            words = f"{mark}{SIGNS[belt.tone]}{one_line(belt.name)}: {one_line(belt.finding)}"
            drawing.text(f"p-label p-{belt.tone}", 0, y, words, room=drawing.width)
    return y


def _short_strakes(drawing, picture, y):
    """List the short strakes that found no room on the map."""
    labels = {"drop": [], "stealer": [], "full": []}
    for strake in picture.unlabelled:
        if strake.label not in labels[strake.kind]:
            labels[strake.kind].append(one_line(strake.label))
    said = []
    if labels["drop"]:
        said.append(_("drop strakes: %(strakes)s") % {"strakes": ", ".join(labels["drop"])})
    if labels["stealer"]:
        said.append(_("stealers: %(strakes)s") % {"strakes": ", ".join(labels["stealer"])})
    if labels["full"]:
        said.append(_("short strakes: %(strakes)s") % {"strakes": ", ".join(labels["full"])})
    for line in wrapped("; ".join(said), 13.5, drawing.width)[:3] if said else ():
        y += 22
        drawing.text("p-label", 0, y, line)
    return y


def _entries(picture):
    """Return (kind, words) for each thing the map shows."""
    drawn = "".join(picture.drawing.parts)
    strakes = picture.hull.strakes()
    steps = ", ".join(f"{step:.2f}" for step in picture.hull.steps_mm)
    found = []
    wide, narrow = "#hatch-w" in drawn, "#hatch-n" in drawn
    if wide:
        found.append(("w2", _("▲ wide, strokes")))
    if narrow:
        found.append(("n2", _("▼ narrow, dots")))
    if wide or narrow:
        found.append(("", _("off plan by %(steps)s mm or more; plain below that") % {"steps": steps}))
    if (picture.plain or not (wide or narrow)) and any(strake.state == "hung" for strake in strakes):
        found.append(("hung", _("hung")))
    if any(not strake.is_solid for strake in strakes):
        found.append(("bare", _("not hung")))
    if any(strake.state == "next" for strake in strakes):
        found.append(("next", _("next")))
    if any(strake.closing and not strake.is_solid for strake in strakes):
        found.append(("closing", _("closing strake")))
    for name, words in (
        ("unmeasured", _("hung, not measured")),
        ("doubt", _("reading in doubt")),
        ("before", _("hung before this log")),
    ):
        if f"#hatch-{name}-" in drawn:
            found.append((name, words))
    if 'class="p-butt"' in drawn:
        found.append(("butt", _("butt")))
    if f'class="{RECKONED}"' in drawn:
        found.append(("reckoned", _("gap reckoned, not read")))
    return found


def _flow(drawing, entries, y):
    """Set the swatches side by side, a new line where the next has no room."""
    x, y = 0.0, y + LINE - 6
    for kind, words in entries:
        start = SWATCH + 7 if kind else 0.0
        lines = wrapped(words, 13.5, drawing.width - start)
        width = start + max(width_of(line, 13.5) for line in lines)
        if x and x + width > drawing.width:
            x, y = 0.0, y + LINE
        if kind:
            _swatch(drawing, kind, x, y - 12.5)
        for line in lines:
            drawing.text("p-label" if kind else "p-label p-quiet", x + start, y, line)
            y += 19
        y -= 19
        x += width + 24
    return y


def _swatch(drawing, kind, x, y):
    """Draw a little of the thing itself."""
    bases = {"bare": "p-bare", "next": "p-next", "closing": "p-closing", "reckoned": RECKONED}
    base = bases.get(kind, "p-hung")
    if kind in ("w2", "n2"):
        base = f"p-{kind}"
    drawing.rect(base, x, y, SWATCH, TALL)
    if kind == "closing":
        drawing.rect("p-closing-line", x, y, SWATCH, TALL)
    if kind in ("w2", "n2", "unmeasured", "doubt", "before"):
        drawing.rect("p-doubt", x, y, SWATCH, TALL, fill=f"hatch-{kind}")
    if base not in bases.values():
        drawing.rect("p-outline p-outline-thin", x, y, SWATCH, TALL)
    if kind == "butt":
        drawing.path("p-butt", f"M{x + SWATCH / 2:.1f} {y + 1:.1f}v{TALL - 2}")


def _notes(drawing, picture, y):
    """Say from where each side is seen, and what was stretched or assumed."""
    said = [_("each side from outside") if len(picture.sides) > 1 else _("seen from outside")]
    if picture.times is not None and picture.times != 1:
        said.append(_("widths drawn %(times)s times the lengths") % {"times": f"{picture.times:g}"})
    if not picture.hull.is_placed:
        said.append(_("stations drawn evenly apart"))
    if not picture.hull.is_measured:
        said.append(_("no widths planned yet: strakes drawn alike"))
    y += 6
    for line in wrapped("; ".join(said), 12.5, drawing.width):
        y += 18
        drawing.text("p-small", 0, y, line)
    return y + 8
