"""The sum behind a verdict in plain words: every figure that was used, each group adding up exactly as
shown."""

from dataclasses import dataclass

from planking import words
from planking.hung_widths import zero_of
from planking.line_by_line import group, heading, note, term
from planking.opening import Opening
from planking.plain_sum import PlainSum
from planking.reviewed import CountThatWouldDo, NewWidth, ShortageParts, StationReview, SumLine, Verdict

DEAD_FLAT = words.DEAD_FLAT


@dataclass(frozen=True)
class SaidOf:
    """What the sentences of one station are made from."""

    plain: PlainSum
    verdict: Verdict
    reason: str
    near: bool
    even: tuple[NewWidth, ...]
    step_mm: float
    capacity_mm: float
    doubt_after_mm: float
    would_do: tuple[CountThatWouldDo, ...]

    @property
    def labels(self) -> list[str]:
        """Return the labels of the strakes left, wale side first."""
        return [one.label for one in self.plain.left]

    @property
    def closing_mm(self) -> float:
        """Return the planned width of the closing strake."""
        closing = self.plain.closing
        return 0.0 if closing is None else closing.planned_mm[self.plain.station]


def shortage_parts(plain: PlainSum) -> ShortageParts | None:
    """Return why the gap is short, rounded so that the parts add up to the shortage as shown; None: cause
    not known."""
    split = plain.split
    if split is None:
        return None
    parts = (
        split.in_plan_mm,
        split.widths_mm,
        split.girth_mm,
        split.seams_mm,
        -plain.weighed_mm,
        split.left_over_mm,
    )
    in_plan, widths, girth, seams, weighed, left_over = shown = words.rounded_parts(parts)
    total = round(sum(shown), 2) + 0.0
    return ShortageParts(
        in_plan, widths, girth, seams, weighed, left_over, total, plain.seams_hung, plain.seam_mm
    )


def sum_lines(said: SaidOf) -> tuple[SumLine, ...]:
    """Return the whole sum of a station, line by line, so that a sceptic can follow it by hand."""
    plain = said.plain
    if not plain.left:
        return (note(f"Nothing is left to hang at {words.station(plain.station)}."),)
    if plain.gap_mm is None:
        return (note("No gap was read and no girth is known, so there is nothing to reckon from."),)
    return (
        *_short_lines(said),
        *_cause_lines(plain),
        *_alone_lines(said),
        *_spread_lines(said),
        _doubt_line(said),
    )


def station_sentence(said: SaidOf) -> str:
    """Return the one sentence a builder reads for a station."""
    plain, place = said.plain, words.station(said.plain.station)
    if not plain.left:
        return f"Closed at {place}."
    if said.reason == "nothing_known":
        return f"Measure the gap at {place}: none was ever read, and no girth is known."
    if said.verdict == "measure_gap":
        return _measure_sentence(said, place)
    short = f"{_capital(words.short(plain.short_mm or 0.0))} at {place}"
    closing = "" if plain.closing is None else plain.closing.label
    alone = said.closing_mm - (plain.to_take_up_mm or 0.0)
    if said.reason == "made_to_gap":
        return f"Strake {closing} wants {words.room(alone)} at {place}: make it to the gap.{_near(said)}"
    left = f"left alone, strake {closing} would {words.would_be(alone)}, planned {words.mm(said.closing_mm)}"
    if said.verdict == "carry_on":
        return f"Carry on. {short}; {left}, and {words.mm(said.step_mm)} is forgiven.{_near(said)}"
    if said.verdict == "spread_it":
        return f"Spread it. {short}; {left}. {_each(said)}.{_near(said)}"
    each = f"{_each(said)}, more than the eye forgives"
    return f"Change the plan. {short}; {left}. {each}. {_would_do(said.would_do)}"


def opening_sentence(
    opening: Opening,
    stations: tuple[StationReview, ...],
    verdict: Verdict,
    reason: str,
    worst: str | None,
    also: str | None,
) -> str:
    """Return the opening's sentence: what to do, the worst station, and dead flat if that is another."""
    side = _capital(opening.side)
    asked = [one for one in stations if one.left]
    if not asked:
        return f"{side}: closed.{_closed(opening)}"
    at = {one.station: one for one in stations}
    named = [at[name] for name in (worst, also) if name is not None and at[name].short_mm is not None]
    if verdict == "measure_gap" or not named:
        return f"{side}: measure the gap. {_why_measure(reason)}"
    if verdict == "carry_on" and all(_is_within_doubt(one) for one in asked):
        return f"Carry on. {side} gap {_as_planned(asked)}."
    gap = f"{side} gap {_places(named)}{_cause(named)}."
    do = {"carry_on": "Carry on", "spread_it": "Spread it", "change_plan": "Change the plan"}[verdict]
    return " ".join(
        part for part in (f"{do}.", gap, _alone(named), _where(asked, verdict), _how(named[-1])) if part
    )


def _is_within_doubt(one: StationReview) -> bool:
    amounts = (one.short_mm, one.to_take_up_mm)
    return one.gap_read_mm is not None and all(
        amount is not None and round(abs(amount), 2) <= round(one.doubt_mm, 2) for amount in amounts
    )


def _as_planned(asked: list[StationReview]) -> str:
    """Return that nothing is to be said: what is less than its own doubt is neither short nor over."""
    where = "" if len(asked) == 1 else f" at all {words.count(len(asked), 'station')}"
    doubt = words.mm(max(one.doubt_mm for one in asked))
    return f"as planned{where}, give or take {doubt}"


def _closed(opening: Opening) -> str:
    """Return how near the closing strake came to its neighbours, at dead flat or where it is furthest off."""
    closing = next((one for one in opening.strakes if one.run == "closing"), None)
    if closing is None:
        return ""
    apart: dict[str, float] = {}
    for station in (one.name for one in opening.stations):
        here = [one.label for one in opening.strakes_at(station)]
        widths = {
            label: reading.width_mm - zero_of(opening, reading.epoch)[0]
            for label in here
            if (reading := opening.width_at.get((label, station)))
        }
        if closing.label in widths:
            at = here.index(closing.label)
            beside = [widths[label] for label in here[max(0, at - 1) : at + 2] if label in widths]
            apart[station] = max(abs(width - widths[closing.label]) for width in beside)
    if not apart:
        return ""
    flat = next((name for name in apart if name == opening.dead_flat or name.casefold() in DEAD_FLAT), None)
    place = flat or max(apart, key=lambda name: apart[name])
    near = f"within {words.mm(apart[place])} of its neighbours at {words.station(place)}"
    return f" Strake {closing.label} is {near}."


def gap_check_sentence(opening: Opening, due: tuple[str, ...]) -> str:
    """Return why the gap is to be read now; empty where it is not."""
    if not due:
        return ""
    # At one station all strakes are in line; a stealer elsewhere would count twice.
    names = [one.name for one in opening.stations]
    flat = next((name for name in names if name == opening.dead_flat or name.casefold() in DEAD_FLAT), None)
    here = opening.strakes_at(flat or max(names, key=lambda name: len(opening.strakes_at(name))))
    hung = sum(one.is_hung for one in here)
    left = len(here) - hung
    where = (
        "at every station"
        if len(due) == len(opening.stations)
        else "at " + words.listed([words.station(one) for one in due])
    )
    if not hung:
        return f"Read the gap {where} while the hull is open."
    return f"Read the gap {where}: {words.count(hung, 'strake')} hung, {left} left."


def _short_lines(said: SaidOf) -> list[SumLine]:
    plain = said.plain
    named = words.strakes(said.labels)
    parts = [(f"{_capital(named)}, planned", plain.planned_widths_mm)]
    if plain.planned_seam_mm and plain.seams_to_go:
        seams = words.count(plain.seams_to_go, "seam")
        parts.append(
            (f"{seams}, planned at {plain.planned_seam_mm:.3f}", plain.seams_to_go * plain.planned_seam_mm)
        )
    if plain.gap_read_mm is None:
        parts.append(("less the gap by girth and widths (none was read)", -(plain.gap_mm or 0.0)))
    else:
        parts.append(("less the gap read", -plain.gap_read_mm))
        if plain.hung_since:
            parts.append((f"{words.strakes(plain.hung_since)} hung since, with seams", plain.taken_since_mm))
    if plain.weighed_mm:
        parts.append(("all readings weighed together", -plain.weighed_mm))
    return group(
        "Short", parts, "short" if (plain.short_mm or 0.0) >= 0 else "over (less than nought is over)"
    )


def _cause_lines(plain: PlainSum) -> list[SumLine]:
    parts = shortage_parts(plain)
    if parts is None and not round(abs(plain.short_mm or 0.0), 2):
        return []
    if parts is None:
        return [note("Cause not known: no widths or no girth stand behind this gap.")]
    lines = [heading("Why")]
    if parts.in_plan_mm:
        over = "over its girth" if parts.in_plan_mm > 0 else "under its girth, as new widths gave up"
        lines.append(term(f"the plan's widths and seams stand {over}", parts.in_plan_mm))
    lines.append(term("widths hung", parts.widths_mm))
    lines.append(term("girth lacking", parts.girth_mm))
    lines.append(term(f"{words.count(parts.seams, 'seam')} at {parts.seam_mm:.3f}", parts.seams_mm))
    if parts.weighed_mm:
        lines.append(term("all readings weighed together", parts.weighed_mm))
    lines.append(term("left over", parts.left_over_mm))
    return [*lines, SumLine("total", "short", parts.total_mm, words.mm(parts.total_mm))]


def _alone_lines(said: SaidOf) -> list[SumLine]:
    plain = said.plain
    if plain.closing is None or plain.short_mm is None:
        return []
    parts = [
        (f"Strake {plain.closing.label}, planned", said.closing_mm),
        ("less the shortage", -plain.short_mm),
    ]
    more = plain.seams_to_go * (plain.seam_mm - plain.planned_seam_mm)
    if plain.seams_to_go:
        over = f" over the {plain.planned_seam_mm:.3f} planned" if plain.planned_seam_mm else ""
        parts.append((f"less {words.count(plain.seams_to_go, 'seam')} at {plain.seam_mm:.3f}{over}", -more))
    if plain.cut_off_mm:
        parts.append(("less what the strakes cut already stand over", -plain.cut_off_mm))
    lines = group("Left alone", parts, f"left alone, strake {plain.closing.label} would be")
    step = abs(plain.to_take_up_mm or 0.0)
    return [*lines, note(f"A step of {words.mm(said.step_mm)} is forgiven; this is {words.mm(step)}.")]


def _spread_lines(said: SaidOf) -> list[SumLine]:
    plain = said.plain
    if len(said.even) < 2 or plain.gap_mm is None:
        return []
    seams = f"less {words.count(plain.seams_to_go, 'seam')} at {plain.seam_mm:.3f}"
    parts = [("Gap", plain.gap_mm + plain.weighed_mm), (seams, -plain.seams_to_go * plain.seam_mm)]
    fixed = plain.planned_widths_mm + plain.cut_off_mm - sum(one.planned_mm for one in said.even)
    if abs(fixed) > 1e-9:
        parts.append(("less the strakes cut already", -fixed))
    lines = group("Spread", parts, f"for {words.strakes([one.strake for one in said.even])}")
    return [*lines, note(_each(said) + ".")]


def _doubt_line(said: SaidOf) -> SumLine:
    plain = said.plain
    doubt = words.mm(plain.doubt_mm)
    return note(
        f"The doubt of this sum is {doubt}; the eye forgives {words.mm(said.capacity_mm)} over all."
    )


def _each(said: SaidOf) -> str:
    if not said.even:
        return "Nothing is left to spread it over"
    change = words.less(said.even[0].planned_mm, said.even[0].even_mm)
    labels = words.strakes([one.strake for one in said.even])
    if any(round(one.even_mm, 2) <= 0 for one in said.even):
        return f"Spread over {labels}, there is no room for them"
    if not change:
        return f"Spread over {labels}, none changes"
    way = "narrower" if change > 0 else "wider"
    widths = {words.mm(one.even_mm) for one in said.even}
    at = f": {widths.pop()} each" if len(widths) == 1 and len(said.even) > 1 else ""
    each = "each" if len(said.even) > 1 else "it"
    return f"Spread over {labels}, {each} is {words.mm(abs(change))} {way}{at}"


def _near(said: SaidOf) -> str:
    return " About at the limit." if said.near else ""


def _measure_sentence(said: SaidOf, place: str) -> str:
    why = "none was ever read" if said.reason == "never_read" else "a reading is due"
    doubt, after = words.mm(said.plain.doubt_mm), words.mm(said.doubt_after_mm)
    if said.doubt_after_mm > 0.9 * said.plain.doubt_mm:
        return f"Measure the gap at {place}: {why}. The doubt is {doubt}, most of it in the seams to come."
    return f"Measure the gap at {place}: {why}. The doubt is {doubt}; one reading takes it to {after}."


def _would_do(options: tuple[CountThatWouldDo, ...]) -> str:
    if not options:
        return "No whole number of strakes fits inside the limits."
    best = options[0]
    widths = words.mm(best.narrowest_mm)
    if best.narrowest_at != best.widest_at:
        widest = f"{words.mm(best.widest_mm)} at {words.station(best.widest_at)}"
        widths += f" at {words.station(best.narrowest_at)} to {widest}"
    return f"{words.count(best.strakes_left, 'strake')} left would do: {widths}."


def _places(named: list[StationReview]) -> str:
    first = named[0]
    text = f"{words.short(first.short_mm or 0.0)} at {words.station(first.station)}"
    for one in named[1:]:
        same = (one.short_mm or 0.0) * (first.short_mm or 0.0) > 0
        figure = words.mm(abs(one.short_mm or 0.0)) if same else words.short(one.short_mm or 0.0)
        text += f", {figure} at {words.station(one.station)}"
    return text


def _cause(named: list[StationReview]) -> str:
    last = named[-1]
    if last.parts is None:
        return ", cause not known" if round(abs(last.short_mm or 0.0), 2) else ""
    pairs = (
        ("widths", last.parts.widths_mm),
        ("girth", last.parts.girth_mm),
        ("seams", last.parts.seams_mm),
        ("plan", last.parts.in_plan_mm),
        ("all readings weighed", last.parts.weighed_mm),
        ("left over", last.parts.left_over_mm),
    )
    said = [f"{name} {words.mm(value)}" for name, value in pairs if value]
    place = "there" if len(named) > 1 else "of it"
    return f" ({place} {', '.join(said)})" if said else ""


def _alone(named: list[StationReview]) -> str:
    parts = []
    for one in named:
        if one.left_alone_mm is not None and one.closing_planned_mm is not None:
            planned = words.mm(one.closing_planned_mm)
            parts.append(f"{words.room(one.left_alone_mm)} at {words.station(one.station)}, planned {planned}")
    if not parts:
        return ""
    if all(one.reason == "made_to_gap" for one in named):
        return f"Strake {named[0].closing} wants {'; '.join(parts)}: make it to the gap."
    return f"Strake {named[0].closing} left alone: {'; '.join(parts)}."


def _where(asked: list[StationReview], verdict: Verdict) -> str:
    same = [one for one in asked if one.verdict == verdict]
    if len(same) == len(asked):
        all_of = "both" if len(asked) == 2 else f"all {len(asked)}"
        return f"So at {all_of} stations." if len(asked) > 1 else ""
    names = {
        "carry_on": "carry on",
        "spread_it": "spread it",
        "change_plan": "change the plan",
        "measure_gap": "measure the gap",
    }
    others = []
    for other in names:
        at = [words.station(one.station) for one in asked if one.verdict == other]
        if at and other != verdict:
            others.append(f"{names[other]} at {words.listed(at)}")
    if not same:
        return f"{_capital('; '.join(others))}. No two neighbours ask for more, so read there again first."
    return f"So at {words.count(len(same), 'station')}; {'; '.join(others)}."


def _how(one: StationReview) -> str:
    if one.verdict != "spread_it" or not one.even:
        return ""
    widths = {words.mm(width.even_mm) for width in one.even}
    labels = words.strakes([width.strake for width in one.even])
    if len(widths) == 1:
        return f"{_capital(labels)} at {widths.pop()} each at {words.station(one.station)}."
    return f"The even spread for {labels} stands below."


def _why_measure(reason: str) -> str:
    return {
        "never_read": "No gap was ever read, and the doubt straddles what the eye sees.",
        "check_due": "A reading is due, and the doubt straddles what the eye sees.",
        "nothing_known": "No gap was ever read and no girth is known.",
    }.get(reason, "")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
