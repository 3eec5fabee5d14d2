"""The numbered marks of a photograph, laid over it in three cuts so that no disc is scaled."""

from django import template

from buildlog.pictures.drawing import column_cuts
from buildlog.pictures.photo_marks import SHOWN, PhotoMark, photo_marks

register = template.Library()


@register.simple_tag
def drawn_marks(photo):
    """Return the marks of a photograph as drawings to lie over it, or nothing where it has none."""
    if not photo.drawn or not photo.width or not photo.height:
        return ""
    marks = [PhotoMark(m["n"], m["x"], m["y"], m["to_x"], m["to_y"]) for m in photo.drawn if "to_x" in m]
    summary = "; ".join(f"{m['n']} {m.get('text', '')}" for m in photo.drawn)
    cuts = [
        photo_marks(marks, photo.width, photo.height, shown=shown, summary=summary, key=f"marks-{photo.pk}")
        for shown in SHOWN
    ]
    return column_cuts(*cuts)
