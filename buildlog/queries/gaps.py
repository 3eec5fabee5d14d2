"""What a gap check needs to know, and what two takes say of each other."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from buildlog.models import NM_PER_MM, Instrument, Reading

from .readings import counting_gaps

# Two strips laid at one place differ by this much only when one was laid badly (DECISIONS 4).
TAKES_APART_NM = 200_000

_KIND_OF = {
    Reading.Method.PAPER_STRIP: Instrument.Kind.STRIP, Reading.Method.TAPE: Instrument.Kind.TAPE,
    Reading.Method.DIVIDERS: Instrument.Kind.DIVIDERS, Reading.Method.JAWS: Instrument.Kind.CALIPER,
}  # fmt: skip


@dataclass(frozen=True)
class TakesApart:
    station: object
    first_nm: int
    second_nm: int

    @property
    def apart_nm(self) -> int:
        return abs(self.first_nm - self.second_nm)


def instrument_for(build, method, person) -> Instrument | None:
    """Return the tool a gap is read with by this method: the person's own, else the first of its kind."""
    tools = list(build.instruments.filter(kind=_KIND_OF.get(method), retired_at__isnull=True).order_by("pk"))
    own = [tool for tool in tools if tool.owner_id == person.pk]
    return next(iter(own or tools), None)


def method_last_used(build, person) -> str:
    """Return how this person read a gap last, else by paper strip."""
    last = Reading.objects.filter(build=build, person=person, kind=Reading.Kind.GAP).order_by("-received_at")
    return last.values_list("method", flat=True).first() or Reading.Method.PAPER_STRIP


@dataclass(frozen=True)
class GapRow:
    """The gap of one station as the last reading and the plan have it."""

    station: str
    read_nm: int | None
    planned_nm: int
    short_nm: int | None
    verdict: str

    @property
    def short_in_words(self) -> str:
        if self.short_nm is None:
            return "–"
        figure = f"{abs(self.short_nm) / NM_PER_MM:.2f}"
        if figure == "0.00":
            return _("as planned")
        return (_("short %(mm)s") if self.short_nm > 0 else _("over %(mm)s")) % {"mm": figure}


def gap_rows(review) -> list[GapRow]:
    """Return the stations that still have a gap, forward to aft."""
    stations = review.stations if review else ()
    return [
        GapRow(at.station, _nm(at.gap_read_mm), _nm(at.planned_gap_mm), _nm(_short_mm(at)), at.verdict)
        for at in stations
        if at.left
    ]


def _short_mm(at) -> float | None:
    """What the row's own figures come to; where strakes were hung since the reading, what the review reckons."""
    if at.gap_read_mm is None or at.hung_since:
        return at.short_mm
    return at.planned_gap_mm - at.gap_read_mm


def _nm(mm) -> int | None:
    return None if mm is None else round(mm * NM_PER_MM)


def takes_apart(opening) -> list[TakesApart]:
    """Return the stations whose last two takes of one sitting disagree, so that both have to be taken again."""
    found = []
    for takes in counting_gaps(opening).values():
        if len(takes) != 2 and not (
            len(takes) > 2 and takes[2].reading.session_id != takes[0].reading.session_id
        ):
            continue
        last, before = takes[0], takes[1]
        same = last.reading.session_id is not None and last.reading.session_id == before.reading.session_id
        if same and abs(last.value_nm - before.value_nm) > TAKES_APART_NM:
            found.append(TakesApart(last.reading.station, before.value_nm, last.value_nm))
    return sorted(found, key=lambda one: one.station.position)
