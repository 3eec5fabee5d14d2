"""Where the figures of a station's sum come from: plan, readings and girths, to the thousandth, adding up as shown.

The sum itself is told in hundredths. Whoever follows it by hand needs what it was made of one place finer.
"""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext


@dataclass(frozen=True)
class Term:
    words: str
    shown: str


@dataclass(frozen=True)
class Source:
    """One figure of the sum: its terms, what they come to, and a remark that says how it goes on."""

    title: str
    terms: tuple[Term, ...]
    total: Term
    note: str = ""


def sources_of(facts, at) -> list[Source]:
    """Return what one station's sum is made of. ``facts`` are the opening as the arithmetic read it."""
    hung = [one for one in facts.strakes_at(at.station) if one.is_hung]
    found = [_planned(facts, at)]
    if hung and (at.wale_drift or at.keel_drift):
        found.append(_off_plan(at))
    girth, planned = facts.girth_at.get(at.station), (facts.girth_planned_mm or {}).get(at.station)
    if girth is not None and planned is not None:
        found.append(_added(_("Girth"), [(_("planned on"), planned), (_("less the girth taken"), -girth.girth_mm)],
                            _("girth lacking")))  # fmt: skip
    if at.seam_is_own:
        found.append(_seam(facts, at, girth.girth_mm))
    return found


def _planned(facts, at) -> Source:
    planned = {one.label: one.planned_mm[at.station] for one in facts.strakes_at(at.station)}
    terms = [(label, planned[label]) for label in at.left]
    if at.seams_to_go and facts.planned_seam_mm:
        terms.append((_seams(at.seams_to_go), at.seams_to_go * facts.planned_seam_mm))
    return _added(_("Planned"), terms, _("planned, all that is left"))


def _off_plan(at) -> Source:
    runs = [(_("the run from the wale"), at.wale_drift), (_("the run from the keel"), at.keel_drift)]
    return _added(_("Widths hung"), [(words, run[-1].cumulative_mm) for words, run in runs if run], _("widths hung"))


def _seam(facts, at, girth_mm) -> Source:
    """What the gap, the girth and the strakes behind it leave over, shared among the seams behind it."""
    gap = facts.gaps_at(at.station)[-1]
    drift = {point.strake: point.deviation_mm for point in (*at.wale_drift, *at.keel_drift)}
    behind = [one for one in facts.strakes_at(at.station) if one.label in gap.hung]
    cut_to = sum(one.judged_by_mm(at.station) or one.planned_mm[at.station] for one in behind)
    off = sum(drift.get(one.label, 0.0) for one in behind)
    count = facts.seams_hung(at.station, gap.hung)
    source = _added(_("Seam"), [
        (_("girth taken"), girth_mm), (_("less the widths the hung strakes were cut to"), -cut_to),
        (_("less how far they are off"), -off), (_("less the gap read"), -at.gap_read_mm),
    ], _("left for the seams"))  # fmt: skip
    each = _("shared by %(count)s: %(each)s each") % {"count": _seams(count), "each": f"{at.seam_mm:.4f}"}
    return Source(source.title, source.terms, source.total, each)


def _seams(count) -> str:
    return ngettext("%(count)d seam", "%(count)d seams", count) % {"count": count}


def _added(title, terms, total) -> Source:
    """Round the running sum, not its terms, so that the terms come to the total as they are shown."""
    shown, exact, before = [], 0.0, 0
    for words, value in terms:
        exact += value
        after = round(exact * 1000)
        shown.append(Term(words, _thousandths(after - before)))
        before = after
    return Source(title, tuple(shown), Term(total, _thousandths(before)))


def _thousandths(count: int) -> str:
    return f"{'−' if count < 0 else ''}{abs(count) / 1000:.3f}"
