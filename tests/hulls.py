"""Small invented hulls for tests, laid down through the actions that the pages use."""

from dataclasses import dataclass, field
from datetime import UTC, datetime

from buildlog.actions import instruments, planks, plans
from buildlog.models import NM_PER_MM, Build, Frame, Membership, Opening, Person, Station, Strake

LAID_DOWN = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


@dataclass
class Hull:
    """One side of five strakes at three stations, all in force; ``strakes`` maps labels to Strake rows."""

    build: Build
    opening: Opening
    stations: list
    revision: object
    strakes: dict
    caliper: object
    strip: object
    person: Person
    openings: list = field(default_factory=list)


def lay_down_hull(account, *, labels=5, stations=("F", "M", "A"), width_mm=5.0, sides=("port",), name="Test hull"):
    """Return a set-up hull owned by ``account``: equal strakes, numbered from the keel, closing in the middle."""
    build = Build.objects.create(
        name=name, scale_num=1, scale_den=48, sides="both" if len(sides) == 2 else sides[0],
        created_at=LAID_DOWN, set_up_at=LAID_DOWN,
    )  # fmt: skip
    Membership.objects.create(build=build, account=account, role="owner", since=LAID_DOWN)
    person = Person.objects.create(build=build, account=account, display_name=account.sign_in_name)
    rows = _stations(build, stations)
    caliper = instruments.add_instrument(build, name="Caliper", kind="caliper", person=person, now=LAID_DOWN)
    strip = instruments.add_instrument(build, name="Paper strip", kind="strip", person=person, now=LAID_DOWN)
    revision = plans.draft_revision(build, reason="first plan", person=person, now=LAID_DOWN)
    hull = Hull(build, None, rows, revision, {}, caliper, strip, person)
    for side in sides:
        _side(hull, side, labels, round(width_mm * NM_PER_MM))
    hull.opening = hull.openings[0]
    hull.revision = plans.put_in_force(revision, person=person, now=LAID_DOWN)
    return hull


def _stations(build, names):
    middle = len(names) // 2
    rows = []
    for index, name in enumerate(names):
        x_nm = (index - middle) * 100 * NM_PER_MM
        frame = Frame.objects.create(build=build, number=index - middle, x_nm=x_nm, name=name)
        rows.append(
            Station.objects.create(
                build=build, frame=frame, name=name, position=index, x_nm=x_nm, is_dead_flat=index == middle
            )
        )
    return rows


def _side(hull, side, labels, width_nm):
    opening = Opening.objects.create(build=hull.build, side=side)
    hull.openings.append(opening)
    plan_opening = plans.plan_opening(hull.revision, opening)
    for station in hull.stations:
        plan_opening.girths.create(station=station, girth_nm=labels * width_nm)
    closing = labels // 2 + 1
    for number in range(1, labels + 1):
        strake = Strake.objects.create(opening=opening)
        run = "closing" if number == closing else "keel" if number < closing else "wale"
        plans.plan_strake(
            hull.revision, strake, label=str(number), position=number, run=run,
            widths_nm={station: width_nm for station in hull.stations},
        )  # fmt: skip
        key = str(number) if len(hull.openings) == 1 else f"{side} {number}"
        hull.strakes[key] = strake


def hang(hull, label, now):
    """Hang one strake of a hull."""
    return planks.hang_strake(hull.strakes[label], person=hull.person, now=now)
