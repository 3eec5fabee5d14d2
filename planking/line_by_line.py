"""Lines of a sum, built so that what is shown adds up as it is shown."""

from collections.abc import Sequence

from planking import words
from planking.reviewed import SumLine


def heading(text: str) -> SumLine:
    """Return the line that opens a part of a sum."""
    return SumLine("heading", text)


def note(text: str) -> SumLine:
    """Return a line in words that adds nothing."""
    return SumLine("note", text)


def term(text: str, value_mm: float) -> SumLine:
    """Return one figure of a sum, in mm, said with two decimals.

    >>> term("strake 9", -0.04).shown
    '−0.04'
    """
    return SumLine("term", text, value_mm, words.mm(value_mm))


def group(head: str, parts: Sequence[tuple[str, float]], total: str) -> list[SumLine]:
    """Return a heading, its terms in mm, and their total; the terms add to it as shown, by the running remainder.

    >>> [line.shown for line in group("At D", [("strake 9", 0.134), ("strake 8", 0.196)], "together")]
    ['', '0.13', '0.20', '0.33']
    """
    shown = words.rounded_parts([value for _, value in parts])
    lines = [term(text, value) for (text, _), value in zip(parts, shown, strict=True)]
    added = round(sum(shown), 2) + 0.0
    return [heading(head), *lines, SumLine("total", total, added, words.mm(added))]
