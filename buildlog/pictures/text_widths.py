"""How wide words stand in the house face, so that a label can be placed before a browser sees it.

Advances in thousandths of the size, the widest of the weights 500 to 800: a box reckoned from them is never
narrower than the drawn word. A test reads the same figures from static/fonts.
"""

import re
import unicodedata
from functools import lru_cache

CAP_HEIGHT = 0.658
# What ink takes above and below the baseline: figures and capitals, ascenders, accents; tails of g, p, y.
LOW_SIGNS = frozenset("0123456789ABCDEFGHIKLMNOPRSTUVWXYZacemnorsuvwxz .:-−–+·■●◆▲▼⊗")
TAILS = frozenset("gjpqyQJ,;()[]{}|/\\_@$")

_BY_WIDTH = {
    142: "⁄", 246: " ", 259: "′", 265: "'", 272: ".·", 273: ":", 275: "l", 277: "‘’", 284: "i", 285: "j",
    286: ",", 291: ";", 302: "`", 313: "!", 339: "J", 347: "I", 365: "?", 367: "°", 373: "f", 389: "[]",
    390: "-", 391: "()", 392: "/\\", 394: "t|", 396: "r", 402: "s", 436: "z", 439: "{}", 452: "^", 455: "c",
    463: "″", 470: '"v', 472: "*", 477: "e", 486: "a", 489: "“”", 491: "x", 493: "y", 505: "g", 512: "×",
    517: "0123456789", 533: "k", 540: "$<>S≤≥", 543: "u", 544: "o", 546: "nq", 547: "p", 548: "d",
    550: "+_~−–±÷≈", 555: "bh", 556: "F", 562: "=L", 571: "↑↓", 585: "E", 613: "B", 619: "P", 627: "Z",
    633: "✕", 635: "T", 654: "Y", 656: "C", 658: "X", 667: "#", 678: "K", 680: "✓", 686: "■", 687: "V",
    690: "%", 691: "A", 697: "&", 703: "R", 725: "G", 745: "Uw", 746: "D", 765: "¼●▲▼", 769: "…", 774: "H",
    775: "N", 778: "½", 779: "¾", 783: "⅞", 798: "⅛⊗", 799: "OQ", 802: "m", 806: "→←", 811: "⅝", 812: "⅜",
    895: "—", 896: "◆", 899: "@", 936: "M", 985: "W",
}  # fmt: skip
ADVANCES = {sign: width for width, signs in _BY_WIDTH.items() for sign in signs}
# Greek and Cyrillic of the face reach 1.08 em; a sign from another face may be a whole wide square.
UNKNOWN = 1100
_UNPRINTABLE = re.compile(
    "[\x00-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff\ufffe\uffff]+"
)
ELLIPSIS = "…"


def one_line(words):
    """Return the words on one line, without what an SVG may not hold or a reader could not see."""
    return " ".join(_UNPRINTABLE.sub(" ", str(words)).split())


def _advance(sign):
    known = ADVANCES.get(sign)
    if known is None:
        base = unicodedata.normalize("NFD", sign)[0]
        known = 0 if unicodedata.combining(sign) else ADVANCES.get(base, UNKNOWN)
        ADVANCES[sign] = known
    return known


@lru_cache(maxsize=4096)
def width_of(words, size):
    """Return how many px the words take at a size in px, never less than a browser draws.

    The same few numbers and names stand on every picture of a hull, so they are added up once.
    """
    return sum(map(_advance, words)) * size / 1000


@lru_cache(maxsize=4096)
def ink_of(words):
    """Return how far the ink of the words goes above and below their baseline, in sizes."""
    signs = set(words)
    if signs <= LOW_SIGNS:
        return 0.69, 0.03
    if not words.isascii():
        return 0.92, 0.28
    return 0.77, 0.23 if signs & TAILS else 0.03


def elided(words, size, room):
    """Return the words, cut short with an ellipsis where they take more px than there is room."""
    if width_of(words, size) <= room:
        return words
    taken = _advance(ELLIPSIS)
    kept = []
    for sign in words:
        taken += _advance(sign)
        if taken * size / 1000 > room:
            break
        kept.append(sign)
    return "".join(kept).rstrip() + ELLIPSIS


def wrapped(words, size, room):
    """Return the words as lines, none wider than the room in px."""
    lines = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_of(longer, size) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return [elided(line, size, room) for line in lines]
