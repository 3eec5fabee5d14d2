"""How the sample begins: people, stations, openings, instruments, wood, and its first two revisions."""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from fractions import Fraction
from itertools import pairwise

from buildlog.actions import instruments, plans
from buildlog.models import (
    NM_PER_MM,
    Build,
    Frame,
    Lot,
    Membership,
    Opening,
    Person,
    PlanPlank,
    PlanWidth,
    Purchase,
    Station,
    Strake,
    Supply,
)

from . import hull

BEGAN = datetime(2025, 1, 25, 10, 0, tzinfo=UTC)
STORY = (
    "A two-masted stores brig of an imagined coast, about 1790, planked strake by strake on sawn frames. "
    "Invented throughout, to show what this log does."
)


@dataclass
class Bench:
    """What the story works with, by the names a builder would use."""

    build: Build
    tobin: Person
    marit: Person
    stations: dict[str, Station]
    frames: dict[int, Frame]
    openings: dict[str, Opening]
    calipers: dict
    strip: object
    lots: dict[str, Lot]
    strakes: dict[tuple[str, str], Strake] = field(default_factory=dict)
    revisions: dict[int, object] = field(default_factory=dict)

    @property
    def five(self) -> list[str]:
        return [name for name, station in self.stations.items() if station.read_by_default]

    @property
    def drawing_girths(self) -> dict[str, int]:
        return {name: hull.to_nm(Fraction(inches)) for name, inches in hull.GIRTH_IN.items()}


def lay_down(account, *, name) -> Bench:
    """Make the build with everything that stands before the first session."""
    build = Build.objects.create(
        name=name, scale_num=1, scale_den=48, frame_word="frame", sides="both", time_zone="Europe/London",
        story=STORY, created_at=BEGAN, set_up_at=BEGAN, is_sample=True,
    )  # fmt: skip
    Membership.objects.create(build=build, account=account, role=Membership.Role.OWNER, since=BEGAN)
    tobin = Person.objects.create(build=build, account=account, display_name="Tobin Ashgrave", name_consent=True)
    marit = Person.objects.create(build=build, display_name="Marit Solvane", name_consent=True)
    frames, stations = _stations(build)
    bench = Bench(
        build, tobin, marit, stations, frames, _openings(build), _calipers(build, tobin, marit),
        instruments.add_instrument(build, name="Paper strip", kind="strip", person=tobin, now=BEGAN),
        _wood(build),
    )  # fmt: skip
    return bench


def _stations(build):
    spacing = hull.to_nm(Fraction(hull.FRAME_SPACING_IN))
    at = {frame: name for name, frame in hull.STATIONS.items()}
    frames = {
        number: Frame.objects.create(build=build, number=number, x_nm=number * spacing, name=at.get(number, ""))
        for number in range(hull.FORE_END, hull.AFTER_END + 1)
    }
    stations = {
        name: Station.objects.create(
            build=build, frame=frames[number], name=name, position=position, x_nm=number * spacing,
            is_dead_flat=number == 0, read_by_default=name in hull.READ_BY_DEFAULT,
        )
        for position, (name, number) in enumerate(hull.STATIONS.items())
    }  # fmt: skip
    return frames, stations


def _openings(build):
    return {
        side: Opening.objects.create(
            build=build, side=side, keel_line="keel rabbet", wale_line="wale", stock_width_nm=64 * NM_PER_MM // 10
        )
        for side in ("port", "starboard")
    }


def _calipers(build, tobin, marit):
    add = instruments.add_instrument
    return {
        "port": add(build, name="Caliper A", kind="caliper", person=tobin, owner=tobin, now=BEGAN),
        "starboard": add(build, name="Caliper B", kind="caliper", person=marit, owner=marit, now=BEGAN),
    }


def _wood(build):
    # Strake 18 is 4 in thick, 2.12 mm at 1:48; lot A is for the thick strakes under the wale, B for the rest.
    lots = {
        name: Lot.objects.create(
            build=build, name=name, species="black cherry", cut="quarter", thickness_nm=thick_nm, humidity_percent=41
        )
        for name, thick_nm in (("A", 2_400_000), ("B", 1_600_000))
    }
    Purchase.objects.create(
        build=build, lot=lots["A"], bought_on=date(2025, 2, 14), what="three boards of black cherry",
        price_cents=4_650, currency="GBP",
    )  # fmt: skip
    Supply.objects.create(build=build, name="PVA glue", opened_on=date(2025, 2, 1))
    return lots


def lay_down_revision(bench: Bench, number: int, *, reason, now):
    """Write revision 1 or 2 of the plan and put it in force."""
    revision = plans.draft_revision(bench.build, reason=reason, person=bench.tobin, now=now)
    planned = hull.planned_strakes(number)
    for side, opening in bench.openings.items():
        plan_opening = plans.plan_opening(revision, opening)
        for name, girth_nm in bench.drawing_girths.items():
            plan_opening.girths.create(
                station=bench.stations[name], girth_nm=girth_nm, drawing_nm=girth_nm
            )
        belts = {
            name: plans.plan_belt(revision, opening, name=name, position=position)
            for position, name in enumerate(hull.BELTS, start=1)
        }
        widths = widths_that_close(planned)
        for position, one in enumerate(planned, start=1):
            _plan_strake(bench, revision, side, one, position, belts[one.belt], widths[one.label])
    bench.revisions[number] = plans.put_in_force(revision, person=bench.tobin, now=now)
    return bench.revisions[number]


def widths_that_close(planned) -> dict[str, dict[str, int]]:
    """Return the strakes' widths in whole nm; each seam's place is rounded, so every station sums to zero."""
    found: dict[str, dict[str, int]] = {one.label: {} for one in planned}
    for station in hull.STATIONS:
        so_far = Fraction(0)
        for one in planned:
            if station in one.widths_in:
                before = hull.to_nm(so_far)
                so_far += one.widths_in[station]
                found[one.label][station] = hull.to_nm(so_far) - before
    return found


def _plan_strake(bench, revision, side, one, position, belt, widths_nm):
    strake = bench.strakes.get((side, one.label))
    if strake is None:
        strake = bench.strakes[side, one.label] = Strake.objects.create(opening=bench.openings[side])
    plan = plans.plan_strake(
        revision, strake, label=one.label, position=position, run=one.run, belt=belt, kind=one.kind,
        spans=one.spans, widths_nm={bench.stations[name]: nm for name, nm in widths_nm.items()},
    )  # fmt: skip
    thickness = hull.THICKNESS_IN.get(one.label, hull.USUAL_THICKNESS_IN)
    PlanWidth.objects.filter(plan_strake=plan).update(thickness_nm=hull.to_nm(Fraction(thickness)))
    _plan_planks(bench, plan, one)


def _plan_planks(bench, plan, one):
    start, end = one.spans[0] if one.spans else (hull.FORE_END, hull.AFTER_END)
    ends = [start, *(frame for frame in one.butts if start < frame < end), end]
    for order, (from_frame, to_frame) in enumerate(pairwise(ends), start=1):
        PlanPlank.objects.create(
            plan_strake=plan, order=order, from_frame=bench.frames[from_frame], to_frame=bench.frames[to_frame]
        )
