"""The club page as one file that opens with the server off: style, fonts and pictures inside, and no script."""

import base64
import hashlib
import re
from pathlib import Path

from django.conf import settings
from django.template.loader import render_to_string

from buildlog.models import PhotoRendition
from buildlog.photos import store

MOST_BYTES = 10_000_000
# What the page's own text, style and drawings may take of that.
ROOM_FOR_TEXT = 1_500_000
# base64 writes three bytes as four characters.
GROWTH = 4 / 3
_URL = re.compile(r"""url\(["']?(\.\./[^"')]+)["']?\)""")
_TYPES = {".woff2": "font/woff2", ".svg": "image/svg+xml", ".png": "image/png"}
STATIC = Path(settings.ROOT) / "static"


def page_as_one_file(page, *, now) -> str:
    """Return the page as HTML with everything inside it, under ten million bytes.

    Photographs are put in newest first, the middle rendition while there is room, then the small one; those
    for which there is none left are named.
    """
    style = _style()
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    pictures, left_out = _pictures(page)
    return render_to_string("club/file.html", {
        "page": page, "pictures": pictures, "left_out": left_out, "style": style, "style_digest": digest, "now": now,
    })  # fmt: skip


def _style() -> str:
    """Return the style sheet with its fonts inside."""
    css = (STATIC / "css" / "reckoner.css").read_text(encoding="utf-8")
    return _URL.sub(lambda found: f"url({_data(STATIC / 'css' / found[1])})", css)


def _data(path: Path) -> str:
    kind = _TYPES.get(path.suffix, "application/octet-stream")
    return f"data:{kind};base64,{base64.b64encode(path.read_bytes()).decode()}"


def _pictures(page) -> tuple[dict[int, str], int]:
    """Return data addresses by photo pk, and how many photographs found no room."""
    photos = ([page.lead] if page.lead else []) + [p for s in page.stories for p in s.photos] + page.loose_photos
    wanted = list(dict.fromkeys(photo.pk for photo in photos))
    renditions = PhotoRendition.objects.filter(photo__in=wanted, size__in=["middle", "small"])
    by_photo: dict[int, dict[str, PhotoRendition]] = {}
    for rendition in renditions:
        by_photo.setdefault(rendition.photo_id, {})[rendition.size] = rendition
    room, found = MOST_BYTES - ROOM_FOR_TEXT, {}
    for index, pk in enumerate(wanted):
        left = len(wanted) - index - 1
        chosen = _chosen(by_photo.get(pk, {}), room, left)
        if chosen is not None:
            found[pk] = f"data:image/jpeg;base64,{base64.b64encode(store.path_of(chosen.key).read_bytes()).decode()}"
            room -= len(found[pk])
    return found, len(wanted) - len(found)


def _chosen(sizes, room, left):
    """Return the largest rendition that fits and leaves the others room for a small one of 40 kB each."""
    middle, small = sizes.get("middle"), sizes.get("small")
    if middle and middle.file_bytes * GROWTH + left * 40_000 * GROWTH < room:
        return middle
    return small if small and small.file_bytes * GROWTH < room else None
