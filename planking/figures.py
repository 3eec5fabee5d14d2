"""Figures as people write them: whole, with a point or a comma, or as a fraction, always exact.

Only what a person would read is read. Python's own `int`, `float` and `Decimal` take `1_000`, `1e99`, `nan`
and the digits of every script; none of these belongs on a workbench, so the text is cleaned and matched here
first.
"""

import re
import unicodedata
from fractions import Fraction

from planking.errors import refusal

LONGEST_TEXT = 40
"""Characters; more than any length needs, and short enough that no figure takes long to read."""

_SIGNS = {
    "\u2212": "-", "\u2013": "-", "\u2010": "-", "\u2011": "-",
    "\u2032": "'", "\u2019": "'", "\u2018": "'", "\u2033": '"', "\u201d": '"', "\u201c": '"',
    "\u2044": "/", "\u2215": "/",
    "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\t": " ",
}  # fmt: skip
"""Signs that phones, keyboards and word processors put for the plain ones; each has one plain meaning."""

_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5",
    "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅐": "1/7", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅑": "1/9", "⅒": "1/10",
}  # fmt: skip

_READABLE = re.compile(r"[A-Za-z0-9 .,/:='\"+\-]*")
_VULGAR_SIGN = re.compile(f"([0-9]?)([{''.join(_VULGAR)}])(?=([0-9]?))")

FIGURE = r"(?:\d+(?:-|\s+))?\d+(?:/|\s+/\s+)\d+|\d+(?:[.,]\d+)*[.,]?|[.,]\d+"
"""One figure inside a larger pattern; always give the pattern `re.ASCII`, and the match to `read_figure`."""

# A blank on one side of the slash only may be where a figure was lost: "3 /4" for "3 1/4".
_FRACTION = re.compile(r"(?:(\d+)(?:-|\s+))?(\d+)(?:/|\s+/\s+)(\d+)", re.ASCII)
_GROUPED = re.compile(
    r"[1-9]\d{0,2}(?:(?:,\d{3})+\.\d+|(?:\.\d{3})+,\d+|(?:,\d{3}){2,}|(?:\.\d{3}){2,})", re.ASCII
)
_PLAIN = re.compile(r"\d+\.?|\d*[.,]\d+", re.ASCII)


def clean(text: str, *, field: str) -> str:
    """Return the text with plain signs only, ready to be matched.

    Curly quotes, primes, long dashes, hard spaces and one-sign fractions become their plain spellings;
    nothing else is changed. Digits of other scripts are refused, not turned into ours: whoever pastes them
    should see it.

    >>> clean(" 3¼″ ", field="width")
    '3 1/4"'

    Raises PlankingError when nothing was typed, when it is longer than 40 signs, or holds a sign no length
    has.
    """
    if not isinstance(text, str):
        raise refusal(field, "is not text")
    stripped = text.strip()
    if not stripped:
        raise refusal(field, "nothing was typed")
    if len(stripped) > LONGEST_TEXT:
        raise refusal(field, f"is longer than {LONGEST_TEXT} signs; write one figure, such as 4.76 or 3 1/4")
    plain = _spell_out(stripped, field=field)
    match = _READABLE.match(plain)
    end = match.end() if match else 0
    if end < len(plain):
        raise refusal(field, f"{_name_sign(plain[end])} is not read; use the figures 0 to 9")
    return plain


def read_figure(figure: str, *, field: str) -> Fraction:
    """Return the exact value of one figure: `4.76`, `4,76`, `3 1/4`, `3-1/4`, `1/64`, `1,234.5`.

    A comma with exactly three figures behind it and one to three before it could be a decimal comma or a
    thousands comma, so `1,234` is refused and says both spellings; `0,188` and `4,76` can only be decimals.

    >>> read_figure("3-1/4", field="width"), read_figure("4,76", field="width")
    (Fraction(13, 4), Fraction(119, 25))

    Raises PlankingError for anything a person would not read as one figure.
    """
    fraction = _FRACTION.fullmatch(figure)
    if fraction:
        return _mixed(fraction, field=field)
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", figure, re.ASCII):
        both = f"{figure.replace(',', '.')} or {figure.replace(',', '')}"
        raise refusal(field, f'"{figure}" can be read two ways; write {both}')
    if _GROUPED.fullmatch(figure):
        point = max(figure.rfind("."), figure.rfind(","))
        if figure.count(figure[point]) > 1:
            return Fraction(int(re.sub("[.,]", "", figure)))
        return Fraction(f"{re.sub('[.,]', '', figure[:point])}.{figure[point + 1 :]}")
    if _PLAIN.fullmatch(figure):
        whole, _, part = figure.replace(",", ".").partition(".")
        return Fraction(f"{whole or 0}.{part or 0}")
    raise refusal(field, f'"{figure}" is not read as one figure')


def _mixed(match: re.Match[str], *, field: str) -> Fraction:
    whole, top, bottom = (int(part or 0) for part in match.groups())
    if bottom == 0:
        raise refusal(field, f'"{match.group()}" divides by nothing')
    if match.group(1) is not None and top >= bottom:
        raise refusal(field, f'"{match.group()}" has a fraction of one or more behind a whole figure')
    return whole + Fraction(top, bottom)


def _spell_out(text: str, *, field: str) -> str:
    plain = "".join(_SIGNS.get(sign, sign) for sign in text)

    def spelled(match: re.Match[str]) -> str:
        before, sign, after = match.groups()
        if after:
            raise refusal(field, f'a figure stands right behind "{sign}"')
        return f"{before} {_VULGAR[sign]}" if before else _VULGAR[sign]

    return _VULGAR_SIGN.sub(spelled, plain)


def _name_sign(sign: str) -> str:
    if sign.isprintable() and not unicodedata.combining(sign):
        return f'the sign "{sign}"'
    return f"a hidden sign (U+{ord(sign):04X})"
