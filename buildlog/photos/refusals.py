"""Why a photograph is refused: one plain sentence that names the file and says what to do."""

import re

from django.utils.translation import gettext as _

from buildlog.photos.limits import LARGEST_FILE, LONGEST_SIDE, MEGABYTE, MOST_METADATA

# Control, direction and zero-width signs could make a name read as something else on the page.
_HIDDEN = re.compile(
    r"[\x00-\x1f\x7f-\x9f\u00ad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\uffff]"
)


class PhotoRefused(Exception):
    """The file cannot be kept; `str()` of it is the sentence to show beside its name."""

    def __init__(self, sentence: str, reason: str):
        super().__init__(sentence)
        self.sentence = sentence
        self.reason = reason


def clean_name(name: object) -> str:
    """Return the last part of a file name, fit to be shown: no hidden signs, no folders, 60 characters."""
    text = str(name or "").encode("utf-8", "replace").decode("utf-8")
    text = _HIDDEN.sub("", re.split(r"[\\/]", text)[-1]).strip()
    if len(text) > 60:
        text = f"{text[:40]}…{text[-16:]}"
    return text or _("The file")


def refused(reason: str, name: object, **facts: object) -> PhotoRefused:
    """Make the refusal for one of the reasons below."""
    sentence = _SENTENCES[reason]() % {"name": clean_name(name), **facts}
    return PhotoRefused(sentence, reason)


def megabytes(count: int) -> str:
    """Write a number of bytes as a person says it."""
    return _("%(count)s MB") % {"count": f"{count / MEGABYTE:.1f}".removesuffix(".0")}


_SENTENCES = {
    "empty": lambda: _("%(name)s is empty: there is no picture in it. Choose it again, or take it again."),
    "too_big": lambda: _(
        "%(name)s is %(size)s; the most for one photograph is %(most)s. Set the camera to a smaller size, "
        "or save a smaller copy and send that."
    ),
    "not_a_photo": lambda: _(
        "%(name)s is not a photograph. JPEG, PNG and WebP pictures are kept; this file is none of these "
        "inside, whatever its name says."
    ),
    "other_kind": lambda: _(
        "%(name)s is not kept: inside it is a %(kind)s. JPEG, PNG and WebP pictures are kept; "
        "save a copy as JPEG and send that."
    ),
    "heic": lambda: _(
        "%(name)s is a HEIC photograph, which this server cannot open. Choose JPEG (“most compatible”) "
        "in the phone’s camera settings, or save a copy as JPEG and send that. "
        "Whoever runs this server can also add the pillow-heif library to it."
    ),
    "damaged": lambda: _(
        "%(name)s is damaged: it begins like a picture but cannot be read. "
        "Send it again, or send another copy."
    ),
    "cut_short": lambda: _(
        "%(name)s is cut short: its end is missing. Send it again; the copy you have may be half a file."
    ),
    "too_many_pixels": lambda: _(
        "%(name)s is %(width)s × %(height)s, %(pixels)s million points; "
        "the most for a %(kind)s is %(most)s million. "
        "Set the camera to a smaller size, or save a smaller copy and send that."
    ),
    "side_too_long": lambda: _(
        "%(name)s is %(width)s × %(height)s points; the longest side may be %(most)s. "
        "Save a smaller copy and send that."
    ),
    "metadata": lambda: _(
        "%(name)s carries too many notes beside the picture "
        "(%(size)s in %(pieces)s pieces; the most is %(most)s). "
        "Save a copy from a photo program and send that."
    ),
    "moving": lambda: _("%(name)s is a moving picture. Save one picture out of it as JPEG and send that."),
    "too_hard": lambda: _(
        "%(name)s takes more memory or time to open than this server gives to one photograph. "
        "Save a copy as JPEG and send that."
    ),
}

ALL_REASONS = tuple(_SENTENCES)


def too_big(name: object, size: int) -> PhotoRefused:
    return refused("too_big", name, size=megabytes(size), most=megabytes(LARGEST_FILE))


def too_much_metadata(name: object, size: int, pieces: int) -> PhotoRefused:
    return refused("metadata", name, size=megabytes(size), pieces=pieces, most=megabytes(MOST_METADATA))


def side_too_long(name: object, width: int, height: int) -> PhotoRefused:
    return refused("side_too_long", name, width=width, height=height, most=LONGEST_SIDE)
