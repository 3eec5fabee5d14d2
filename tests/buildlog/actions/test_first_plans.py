"""The plan made of a gap: who closes, who stops short, and sums that close to the last nanometre."""

from datetime import UTC, datetime, timedelta

import pytest

from buildlog.actions.builds import name_stations, set_sides, set_station_count, start_build
from buildlog.actions.first_plans import (
    SideTold,
    closing_position,
    dropping_order,
    lay_out,
    put_first_plan,
    spans_of,
    split_gap,
)
from buildlog.models import PlanGirth, Plank, PlanStrake, PlanWidth, Reading
from buildlog.queries.next_strake import next_strake

NOW = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)
FIVE_GAPS_NM = [14_970_000, 20_820_000, 22_160_000, 21_270_000, 20_930_000]


@pytest.fixture
def begun(owner):
    """A build with two sides and five frames, its planking not told yet."""
    build = start_build(owner, name="Orlawen", now=NOW)
    person = build.people.get()
    set_sides(build, build.version, sides="both", layers=1, layer=1, runs="both", person=person, now=NOW)
    set_station_count(build, build.version, count=5, frame_word="frame", person=person, now=NOW)
    names = ["Q", "H", "⊗", "8", "16"]
    name_stations(build, build.version, names=names, dead_flat=2, distances_nm=[], person=person, now=NOW)
    return build


def told(build, side, *, keel=4, left_at=(5, 5, 5, 5, 5), wale=9, gaps=FIVE_GAPS_NM):
    typed = {i: {"nm": nm, "typed": "x", "unit": "mm", "size": "model"} for i, nm in enumerate(gaps)}
    return SideTold(
        opening=build.openings.get(side=side), hung_keel=keel, hung_wale=wale, left_at=list(left_at),
        gaps=typed, read_at=NOW + timedelta(minutes=5),
    )  # fmt: skip


def put(build, *sides, runs="both"):
    return put_first_plan(
        build, list(sides), runs=runs, person=build.people.get(), account=build.memberships.get().account,
        now=NOW + timedelta(minutes=9),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("hung_keel", "left", "runs", "closing"),
    [
        pytest.param(4, 5, "both", 7, id="middle of five"),
        pytest.param(4, 4, "both", 6, id="keel side of the middle of four"),
        pytest.param(0, 18, "both", 9, id="bare hull"),
        pytest.param(3, 1, "both", 4, id="the last one"),
        pytest.param(0, 12, "wale", 1, id="from the wale only: at the keel"),
        pytest.param(0, 12, "keel", 12, id="from the keel only: at the wale"),
    ],
)
def test_closing_strake_is_the_middle_one_left_or_the_last_of_a_single_run(hung_keel, left, runs, closing):
    assert closing_position(hung_keel, left, runs) == closing


def test_strakes_stop_short_nearest_the_closing_one_and_those_next_to_hang_last():
    assert dropping_order(4, 5, 7, "both") == [8, 6, 9, 5]


def test_single_run_drops_the_strake_it_hangs_next_last():
    assert dropping_order(0, 4, 1, "wale") == [2, 3, 4]
    assert dropping_order(0, 4, 4, "keel") == [3, 2, 1]


@pytest.mark.parametrize("runs", ["both", "wale", "keel"])
@pytest.mark.parametrize(
    "left_at", [[5] * 5, [4, 5, 5, 5, 5], [3, 4, 5, 4, 2], [1, 5, 5, 5, 1], [1, 1, 2, 1, 1]]
)
def test_every_place_has_as_many_strakes_as_were_told_there(left_at, runs):
    laid = lay_out(4, 9, left_at, runs)

    here = [sum(one.is_open and i in one.reaches for one in laid) for i in range(5)]
    assert here == left_at
    closing = next(one for one in laid if one.run == "closing")
    assert closing.reaches == (0, 1, 2, 3, 4)


def test_strake_dropped_at_both_ends_and_the_middle_covers_two_stretches():
    laid = next(one for one in lay_out(0, 0, [4, 5, 4, 5, 4], "both") if len(one.reaches) == 2)

    assert spans_of(laid, [-2, -1, 0, 1, 2]) == [[-1, -1], [1, 1]]


@pytest.mark.parametrize("gap_nm", [22_160_000, 22_160_001, 22_160_004, 1, 999_999_999_999])
def test_split_gap_adds_up_to_the_nanometre(gap_nm):
    laid = lay_out(4, 9, [5], "both")

    shares = split_gap(gap_nm, laid, 0)

    assert sum(shares.values()) == gap_nm
    assert max(shares.values()) - min(shares.values()) <= 1


def test_half_planked_hull_gets_its_plan_its_gaps_and_its_hung_strakes(begun):
    revision = put(begun, told(begun, "port"), told(begun, "starboard"))

    port = revision.strakes.filter(opening__side="port")
    assert (revision.number, revision.state, port.count()) == (1, "in_force", 18)
    assert list(port.filter(run="closing").values_list("label", flat=True)) == ["7"]
    assert list(port.filter(run="keel").values_list("label", flat=True)) == ["1", "2", "3", "4", "5", "6"]
    hung = Plank.objects.filter(strake__opening__side="port", state="hung", measured="before_log")
    assert sorted(int(p.strake.plans.get().label) for p in hung) == [1, 2, 3, 4, *range(10, 19)]
    assert not PlanWidth.objects.filter(plan_strake__strake__planks__isnull=False).exists()
    readings = Reading.objects.filter(kind="gap", opening__side="port").order_by("station__position")
    assert [r.value_nm for r in readings] == FIVE_GAPS_NM
    assert {r.method for r in readings} == {"paper_strip"}
    assert {r.happened_at for r in readings} == {NOW + timedelta(minutes=5)}


def test_first_plan_closes_to_zero_at_every_station(begun):
    revision = put(begun, told(begun, "port"), told(begun, "starboard", left_at=(4, 5, 5, 5, 3)))

    for girth in PlanGirth.objects.filter(plan_opening__revision=revision):
        widths = PlanWidth.objects.filter(
            plan_strake__opening=girth.plan_opening.opening, station=girth.station
        ).values_list("width_nm", flat=True)
        assert sum(widths) == girth.girth_nm


def test_widths_are_the_gap_divided_by_the_strakes_left(begun):
    """22.16 / 5 = 4.432 and 14.97 / 5 = 2.994, by hand."""
    revision = put(begun, told(begun, "port"))

    widths = {w.station.name: w.width_nm for w in revision.strakes.get(label="9").widths.all()}
    assert widths == {"Q": 2_994_000, "H": 4_164_000, "⊗": 4_432_000, "8": 4_254_000, "16": 4_186_000}


def test_strake_that_stops_short_has_its_span_and_no_width_beyond(begun):
    revision = put(begun, told(begun, "port", left_at=(4, 5, 5, 5, 5)))

    short = revision.strakes.get(label="8")
    assert (short.kind, short.spans) == ("drop", [[-1, 2]])
    assert sorted(w.station.name for w in short.widths.all()) == ["16", "8", "H", "⊗"]
    assert revision.strakes.filter(kind=PlanStrake.Kind.DROP).count() == 1


def test_side_to_be_measured_later_has_strakes_and_no_widths(begun):
    revision = put(begun, told(begun, "port"), told(begun, "starboard", gaps=[]))

    starboard = revision.strakes.filter(opening__side="starboard")
    assert starboard.count() == 18
    assert not PlanWidth.objects.filter(plan_strake__in=starboard).exists()


def test_putting_it_in_force_twice_makes_one_plan(begun):
    first = put(begun, told(begun, "port"))
    second = put(begun, told(begun, "port"))

    assert first == second
    assert begun.revisions.count() == 1
    assert Reading.objects.filter(kind="gap").count() == 5


def test_bare_hull_hangs_nothing_and_begins_somewhere(begun):
    put(begun, told(begun, "port", keel=0, wale=0, left_at=[18] * 5, gaps=[90_000_000] * 5))

    assert not Plank.objects.exists()
    assert next_strake(begun).label in ("1", "18")


def test_single_run_from_the_wale_hangs_on_from_the_wale(begun):
    put(begun, told(begun, "port", keel=0, wale=3, left_at=[9] * 5), runs="wale")

    assert next_strake(begun).label == "9"


def test_first_plan_is_known_from_now_on_and_set_up(begun):
    put(begun, told(begun, "port"))

    begun.refresh_from_db()
    assert begun.set_up_at == NOW + timedelta(minutes=9)
    session = begun.sessions.get()
    assert session.readings.count() == 5
