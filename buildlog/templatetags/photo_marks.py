"""The numbered marks of a photograph, laid over it in three cuts so that no disc is scaled."""

from django import template
from django.utils.html import format_html

from buildlog.pictures.drawing import column_cuts
from buildlog.pictures.photo_marks import SHOWN, PhotoMark, photo_marks

register = template.Library()


@register.simple_tag
def drawn_marks(photo):
    """Return the marks of a photograph as drawings to lie over it, or nothing where it has none."""
    if not photo.drawn or not photo.width or not photo.height:
        return ""
    shown = photo.shown_marks
    marks = [
        PhotoMark(m["n"], m["x"], m["y"], m["to_x"], m["to_y"], m.get("kind", "number")) for m in shown if "to_x" in m
    ]
    if not marks:
        return ""
    summary = "; ".join(f"{m['n']} {m.get('text', '')}".strip() for m in shown)
    cuts = [
        photo_marks(marks, photo.width, photo.height, shown=wide, summary=summary, key=f"marks-{photo.pk}")
        for wide in SHOWN
    ]
    # The empty drawing keeps the photograph's place until it has come, so that no mark lies over what stands below.
    space = '<svg class="photo-space" viewBox="0 0 {} {}" aria-hidden="true"></svg>'
    return format_html(space, str(photo.width), str(photo.height)) + column_cuts(*cuts)
