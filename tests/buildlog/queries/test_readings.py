"""Which reading counts (DATA rule): latest dry before sanding, hung before cut; amendments; as of a date."""

import uuid
from datetime import timedelta

import pytest

from buildlog.actions.planks import hang_strake, take_out_strake
from buildlog.actions.readings import amend_reading, record_reading
from buildlog.models import EdgeDressed
from buildlog.queries.readings import all_readings, counting_gaps, counting_widths
from tests.factories import MM, NOON


def _read(hull, mm, *, label="1", at=1, hours=0, **fields):
    when = NOON + timedelta(hours=hours)
    values = {
        "kind": "width", "opening": hull.opening, "strake": hull.strakes[label], "station": hull.stations[at],
        "value_nm": round(mm * MM), "typed": f"{mm:.2f}", "unit": "mm", "method": "jaws", "stage": "cut",
        "instrument": hull.caliper, "person": hull.person,
    } | fields  # fmt: skip
    return record_reading(hull.build, client_uuid=uuid.uuid4(), now=when, **values)[0]


def _amend(hull, reading, act, hours, **fields):
    when = NOON + timedelta(hours=hours)
    return amend_reading(reading, act=act, reason="slip of the thumb", person=hull.person, now=when, **fields)


def _reasons(hull, label="1"):
    return [(row.reading.typed, row.counts, row.reason) for row in all_readings(hull.strakes[label])]


def _width(hull, as_of=None, label="1", at=1):
    row = counting_widths(hull.opening, as_of).get((hull.strakes[label].pk, hull.stations[at].pk))
    return row and row.value_nm / MM


def test_latest_of_two_dry_takes_counts_and_both_are_kept(hull):
    _read(hull, 4.76)
    _read(hull, 4.78, hours=1)

    assert _width(hull) == 4.78
    assert _reasons(hull) == [("4.76", False, "an earlier take; the latest counts"), ("4.78", True, "")]


def test_hung_counts_before_cut_even_when_the_cut_one_is_later(hull):
    _read(hull, 4.70, stage="hung", method="dividers")
    _read(hull, 4.76, hours=1)

    assert _width(hull) == 4.70
    assert _reasons(hull)[1] == ("4.76", False, "read on the cut plank; the hung one counts")


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"damp": "damp"}, "read damp"),
        ({"stage": "sanded"}, "read after sanding"),
        ({"value_nm": None, "missing_reason": "clamp there", "typed": "4.80"}, "skipped: clamp there"),
    ],
    ids=["damp", "sanded", "skipped"],
)
def test_reading_that_may_not_count_is_shown_with_its_reason(hull, fields, reason):
    _read(hull, 4.76)
    _read(hull, 4.80, hours=1, **fields)

    assert _width(hull) == 4.76
    assert _reasons(hull)[1] == ("4.80", False, reason)


def test_replaced_reading_follows_its_amendment_from_when_it_is_known(hull):
    slip = _read(hull, 4.67)
    mended = _read(hull, 4.76, hours=48, happened_at=slip.happened_at)
    _amend(hull, slip, "replaces", 48, new_reading=mended)

    assert _width(hull) == 4.76
    assert _width(hull, as_of=NOON + timedelta(hours=1)) == 4.67
    assert _reasons(hull)[0] == ("4.67", False, "replaced by 4.76")


def test_withdrawn_reading_gives_way_to_the_one_before(hull):
    _read(hull, 4.76)
    wrong = _read(hull, 5.20, hours=1)
    _amend(hull, wrong, "withdraws", 2)

    assert _width(hull) == 4.76
    assert _width(hull, as_of=NOON + timedelta(hours=1)) == 5.20
    assert _reasons(hull)[1] == ("5.20", False, "withdrawn: slip of the thumb")


def test_doubted_reading_counts_and_says_so(hull):
    reading = _read(hull, 4.76)
    _amend(hull, reading, "doubts", 1)

    row = counting_widths(hull.opening)[hull.strakes["1"].pk, hull.stations[1].pk]

    assert (row.value_nm, row.doubt) == (4_760_000, "slip of the thumb")


@pytest.mark.parametrize("state", ["spoiled", "taken_off"])
def test_reading_of_a_plank_no_longer_there_does_not_count_for_the_next_one(hull, state):
    strake = hull.strakes["1"]
    hang_strake(strake, person=hull.person, now=NOON)
    _read(hull, 4.76, hours=1)
    take_out_strake(strake, state, person=hull.person, now=NOON + timedelta(hours=2), reason="split")
    _read(hull, 4.80, at=0, hours=3)

    assert _width(hull) is None
    assert _width(hull, at=0) == 4.80
    assert _width(hull, as_of=NOON + timedelta(hours=1)) == 4.76


def test_spoiled_plank_takes_its_own_readings_with_it_and_no_others(hull):
    strake = hull.strakes["1"]
    plank = hang_strake(strake, person=hull.person, now=NOON)[0]
    _read(hull, 4.76, plank=plank, hours=1)
    take_out_strake(strake, "spoiled", person=hull.person, now=NOON + timedelta(hours=2), reason="split")
    _read(hull, 4.78, hours=1, label="2")

    assert _width(hull) is None
    assert _width(hull, label="2") == 4.78


def test_unknown_yet_is_not_counted_as_of_an_earlier_date(hull):
    _read(hull, 4.76, hours=5, happened_at=NOON)

    assert _width(hull, as_of=NOON + timedelta(hours=4)) is None
    assert _width(hull, as_of=NOON + timedelta(hours=5)) == 4.76


def test_width_dressed_afterwards_is_marked_at_its_stations_only(hull):
    for at in (0, 1, 2):
        _read(hull, 4.76, at=at)
    when = NOON + timedelta(hours=1)
    EdgeDressed.objects.create(
        strake=hull.strakes["1"], from_station=hull.stations[2], to_station=hull.stations[1],
        person=hull.person, happened_at=when, known_at=when, received_at=when,
    )  # fmt: skip

    rows = counting_widths(hull.opening)

    dressed = {station.name: rows[hull.strakes["1"].pk, station.pk].dressed for station in hull.stations}
    assert dressed == {"F": False, "M": True, "A": True}


def test_gaps_stand_latest_first_without_the_withdrawn(hull):
    gap = {"kind": "gap", "strake": None, "method": "paper_strip", "instrument": hull.strip, "stage": ""}
    _read(hull, 20.1, **gap)
    _read(hull, 20.3, hours=1, **gap)
    wrong = _read(hull, 23.0, hours=2, **gap)
    _amend(hull, wrong, "withdraws", 3)

    rows = counting_gaps(hull.opening)[hull.stations[1].pk]

    assert [row.value_nm / MM for row in rows] == [20.3, 20.1]
    assert [row.u_nm for row in rows] == [100_000, 100_000]


def test_counting_holds_one_query_count_with_one_and_thirty_readings(hull, django_assert_num_queries):
    _read(hull, 4.76)
    with django_assert_num_queries(8):
        counting_widths(hull.opening)
    for number in range(30):
        _read(hull, 4.7 + number / 100, label=str(number % 5 + 1), at=number % 3, hours=number)
    with django_assert_num_queries(8):
        counting_widths(hull.opening)
