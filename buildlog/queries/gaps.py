"""What a gap check needs to know, and what two takes say of each other."""

from dataclasses import dataclass

from buildlog.models import Instrument, Reading

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


def takes_apart(opening) -> list[TakesApart]:
    """Return the stations whose last two takes of one sitting disagree, so that both have to be taken again."""
    found = []
    for takes in counting_gaps(opening).values():
        if len(takes) != 2 and not (len(takes) > 2 and takes[2].reading.session_id != takes[0].reading.session_id):
            continue
        last, before = takes[0], takes[1]
        same = last.reading.session_id is not None and last.reading.session_id == before.reading.session_id
        if same and abs(last.value_nm - before.value_nm) > TAKES_APART_NM:
            found.append(TakesApart(last.reading.station, before.value_nm, last.value_nm))
    return sorted(found, key=lambda one: one.station.position)
