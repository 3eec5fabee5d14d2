"""The marks every page writes alike: side signs, figures, built fractions, wide and narrow, trade words.

{% load marks %}
{{ reading.value_nm|mm }}                     4.41
{% full_size width_nm scale %}                8 5/16 with a built fraction, spoken as words
{% side "port" 9 %}                           ■ Port 9
{% off 60000 within=30000 %}                  ▲ wide 0.06; nothing is coloured inside the noise
{{ station.name|at }}                         ⊗, spoken as dead flat
{% term "stealer" %}                          the word, a tap opens its line (inside <div class="para">)
"""

from dataclasses import replace
from fractions import Fraction
from functools import lru_cache

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from buildlog.templatetags.glossary import WORDS
from planking.lengths import FractionText, Scale, from_nm, show_full_size, show_mm

register = template.Library()

SIGNS = {"port": "■", "starboard": "●", "both": "◆"}
SIDE_WORDS = {
    "port": gettext_lazy("Port"),
    "starboard": gettext_lazy("Starboard"),
    "both": gettext_lazy("Both sides"),
}
VERDICT_WORDS = {
    "carry_on": gettext_lazy("Carry on"),
    "spread_it": gettext_lazy("Spread it"),
    "change_plan": gettext_lazy("Change the plan"),
    "measure_gap": gettext_lazy("Measure the gap"),
}
STAMP_WORDS = {
    "old": gettext_lazy("Old"),
    "not_checked": gettext_lazy("Not checked"),
    "outer_face_up": gettext_lazy("Outer face up"),
}
NOTHING = "–"
MINUS = "−"
WHOLE = Fraction(0)
# Beyond this a cell would be narrower than its own outline on a phone.
MOST_CELLS = 60


@register.filter
def mm(value_nm: int | None, places: int = 2) -> str:
    """Nanometres as mm: 4410000 is 4.41; a dash where nothing was read."""
    if value_nm is None or value_nm == "":
        return NOTHING
    return _mm_once(int(value_nm), places)


# One plan is looked at again and again: sixty strakes at forty stations are 2,400 widths, each in two sizes.
@lru_cache(maxsize=8192)
def _mm_once(value_nm: int, places: int) -> str:
    return show_mm(from_nm(value_nm), places).replace("-", MINUS)


@lru_cache(maxsize=8192)
def _full_size_once(value_nm: int, scale: Scale, feet: bool) -> FractionText:
    return show_full_size(from_nm(value_nm), scale, feet=feet)


@register.filter
def hours(minutes: float) -> str:
    """Minutes as hours: 75 is 1.3 (rounded half to even, as it is shown)."""
    return f"{minutes / 60:.1f}"


@register.filter
def money(cents: int | None) -> str:
    """Hundredths as a price: 1250 is 12.50; a dash where none is written down."""
    return NOTHING if cents is None else f"{cents // 100}.{cents % 100:02d}"


@register.filter
def fraction(shown: FractionText | None) -> str | SafeString:
    """A full-size length with its fraction built from two small figures, and spoken as words."""
    if shown is None:
        return NOTHING
    return _built(shown, "″")


@register.simple_tag
def full_size(
    value_nm: int | None, scale: Scale | Fraction | None, mark: str = "″", feet: bool = False
) -> str | SafeString:
    """A model length in nanometres as inches of the real vessel; a dash where the scale is not known."""
    if value_nm is None or scale is None:
        return NOTHING
    if isinstance(scale, Fraction):
        scale = Scale(scale.numerator, scale.denominator)
    return _built(_full_size_once(value_nm, scale, feet), mark)


def _built(shown: FractionText, mark: str) -> SafeString:
    """Return the figures for the eye, the words for the ear."""
    return _built_once(replace(shown, remainder_mm=WHOLE), mark, _("inches") if mark else "")


@lru_cache(maxsize=2048)
def _built_once(shown: FractionText, mark: str, unit: str) -> SafeString:
    """Widths of one hull lie within a few inches, so that a table of thousands has some dozens of fractions."""
    inches = str(shown.whole) if shown.whole or not shown.numerator else ""
    feet = f"{shown.feet}′ " if shown.feet else ""
    part = ""
    if shown.numerator:
        part = format_html("<sup>{}</sup><i>⁄</i><sub>{}</sub>", shown.numerator, shown.denominator)
    seen = format_html(
        '<span aria-hidden="true">{}{}{}{}{}</span>',
        MINUS if shown.negative else "", feet, inches, part, mark,
    )  # fmt: skip
    said = f"{shown.spoken} {unit}".strip()
    return format_html('<span class="fig fraction">{}<span class="spoken">{}</span></span>', seen, said)


@register.simple_tag
def sign(side: str) -> SafeString | str:
    """The sign alone, for a place where the word stands beside it."""
    return (
        format_html('<span class="sign" aria-hidden="true">{}</span>', SIGNS[side]) if side in SIGNS else ""
    )


@register.simple_tag
def side(side: str, strake: object = "") -> SafeString | str:
    """Sign and word, and the strake's number where one is given: ■ Port 9."""
    if side not in SIGNS:
        return str(strake)
    words = f"{SIDE_WORDS[side]} {strake}".strip()
    return format_html('<span class="side">{}{}</span>', sign(side), words)


@register.simple_tag
def off(value_nm: int | None, within: int = 30_000, word: bool = True) -> SafeString | str:
    """How far a width is off, by shape, word and colour; inside `within` quietly, or not at all."""
    if value_nm is None:
        return ""
    amount = show_mm(from_nm(abs(value_nm)))
    if abs(value_nm) < within or amount == "0.00":
        # Nothing is within nothing: a width that came out to the hundredth is within one.
        amount = "0.01" if amount == "0.00" else amount
        return format_html('<span class="off off-within">{} {}</span>', _("within"), amount) if word else ""
    name, shape, said = ("wide", "▲", _("wide")) if value_nm > 0 else ("narrow", "▼", _("narrow"))
    spoken = said if word else format_html('<span class="spoken">{}</span>', said)
    html = '<span class="off off-{}"><span aria-hidden="true">{}</span> {} {}</span>'
    return format_html(html, name, shape, spoken, amount)


@register.filter
def at(station_name: str) -> str | SafeString:
    """A station's name; the crossed ring is spoken as what it means."""
    if station_name != "⊗":
        return station_name
    return format_html('<span aria-hidden="true">⊗</span><span class="spoken">{}</span>', _("dead flat"))


@register.inclusion_tag("parts/_shape.html")
def shape(verdict: str, in_row: bool = False) -> dict[str, object]:
    """The shape of a verdict; in a table row it is small and says the verdict's word."""
    return {"verdict": verdict, "in_row": in_row, "word": VERDICT_WORDS.get(verdict, "")}


@register.filter
def verdict_word(verdict: str) -> str:
    return str(VERDICT_WORDS.get(verdict, verdict))


@register.filter
def after_verdict(sentence: str, verdict: str) -> str:
    """The sentence without the verdict's own word in front, for a place where that word is the heading."""
    word = f"{VERDICT_WORDS.get(verdict, '')}. "
    return sentence.removeprefix(word)


@register.filter
def stamp_word(stamp: str) -> str:
    return str(STAMP_WORDS.get(stamp, stamp))


@register.simple_tag
def cells(done: int, total: int) -> SafeString:
    """A strip of as many cells as there are things, the done ones filled; many things share a cell."""
    total = max(int(total), 1)
    shown = min(total, MOST_CELLS)
    filled = int(done) * shown // total
    row = format_html_join(
        "", '<span class="{}"></span>', (("done" if n < filled else "open",) for n in range(shown))
    )
    return format_html('<span class="cells" aria-hidden="true">{}</span>', row)


@register.simple_tag
def term(key: str, shown: str = "") -> SafeString | str:
    """A trade word that opens its line by a tap. A <details> closes a <p>: use <div class="para">."""
    if key not in WORDS:
        return shown or key
    word = WORDS[key]
    line = format_html('<span class="term-line" role="note"><b>{}</b>{}</span>', word.name, word.line)
    return format_html('<details class="term"><summary>{}</summary>{}</details>', shown or word.name, line)


@register.simple_tag
def trade_terms(keys: str) -> SafeString:
    """Several trade words in a row, each opening its line; a key that is no word of the glossary is a slip."""
    return format_html_join(" · ", "{}", ((term(WORDS[key.strip()].key),) for key in keys.split(",")))


@register.simple_tag
def trade_words() -> list:
    """Every trade word in the order of the alphabet, for the page of words."""
    return sorted(WORDS.values(), key=lambda word: str(word.name).casefold())
