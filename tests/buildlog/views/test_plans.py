"""The Plan room: a table whose every column closes to zero."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.html import strip_tags

from buildlog.actions import plans, readings
from buildlog.drawn.hulls import StandingHull
from buildlog.drawn.plan_tables import plan_table
from buildlog.models import PlanOpening, PlanRevision
from tests.hulls import hang, lay_down_hull


def url(build, query=""):
    return reverse("plan", args=[build.uuid]) + query


def table_of(build, side="port"):
    standing = StandingHull(build)
    opening = next(o for o in standing.openings if o.side == side)
    before = PlanRevision.objects.filter(build=build, number=standing.revision.number - 1).first()
    return plan_table(standing, opening, before)


def test_plan_shows_every_width_and_closes_to_zero(client_of, hull, reader):
    answer = client_of(reader).get(url(hull.build))

    table = answer.context["table"]
    assert [s.name for s in table.stations] == ["A", "M", "F"]
    assert [row.label for group in table.groups for row in group.rows] == ["5", "4", "3", "2", "1"]
    assert {c.width_nm for g in table.groups for r in g.rows for c in r.cells} == {5_000_000}
    assert [one.left_over_nm for one in table.sums] == [0, 0, 0]
    page = answer.content.decode()
    assert "closes to zero" in page
    assert "BOW" in page


def test_sum_tells_what_does_not_close(hull):
    PlanOpening.objects.get().girths.filter(station__name="M").update(girth_nm=25_000_001)

    table = table_of(hull.build)

    assert not table.closes
    assert [one.left_over_nm for one in table.sums] == [0, 1, 0]


def test_planned_seams_are_in_the_sum(hull):
    """Five strakes of 5.00 and six seams of 0.03 are 25.18, by hand."""
    PlanOpening.objects.update(planned_seam_nm=30_000)
    PlanOpening.objects.get().girths.update(girth_nm=25_180_000)

    table = table_of(hull.build)

    assert {(one.seams, one.seams_nm, one.left_over_nm) for one in table.sums} == {(6, 180_000, 0)}


def test_full_size_is_a_link_and_changes_no_figure(client_of, hull, reader):
    browser = client_of(reader)

    page = browser.get(url(hull.build)).content.decode()
    full = browser.get(url(hull.build, "?size=full")).content.decode()

    assert 'href="?side=port&amp;size=full"' in page
    # 5 mm x 48 / 25.4 = 9.449 in, to the sixteenth 9 7/16, by hand.
    assert "9 and 7 sixteenths" in full
    assert "mm on the model</a>" in full


def test_both_sizes_stand_side_by_side_in_the_table_and_at_one_station(client_of, hull, reader):
    """5 mm x 48 / 25.4 = 9.449 in, to the sixteenth 9 7/16, by hand."""
    for query in ("", "?size=full", "?at=M", "?at=M&size=full"):
        page = client_of(reader).get(url(hull.build, query)).content.decode()
        row = re.search(r'<tr class="next">.*?</tr>', page, re.DOTALL).group()

        assert "9 and 7 sixteenths" in row
        assert re.search(r">5\.00<", row)


def test_full_size_without_a_scale_stays_on_the_model(client_of, hull, owner):
    hull.build.scale_num = hull.build.scale_den = None
    hull.build.save()

    answer = client_of(owner).get(url(hull.build, "?size=full"))

    assert answer.context["full"] is False


def test_deviation_of_a_hung_plank_stands_under_its_figure(client_of, hull, owner, clock):
    hang(hull, "1", clock())
    readings.record_reading(
        hull.build, client_uuid=hull.build.uuid, now=clock(), kind="width", opening=hull.opening,
        strake=hull.strakes["1"], station=hull.stations[1], value_nm=5_070_000, typed="5.07", unit="mm",
        method="jaws", stage="cut", instrument=hull.caliper, person=hull.person,
    )  # fmt: skip

    answer = client_of(owner).get(url(hull.build))

    row = next(r for g in answer.context["table"].groups for r in g.rows if r.label == "1")
    assert [c.off_nm for c in row.cells] == [None, 70_000, None]
    assert (row.state, row.words) == ("hung", "hung")
    assert "0.07" in answer.content.decode()


def test_figure_that_a_revision_changed_says_what_it_was(client_of, hull, owner, clock):
    revision = plans.copy_revision(hull.revision, reason="narrower", person=hull.person, now=clock())
    revision.strakes.get(label="4").widths.filter(station__name="M").update(width_nm=4_900_000)
    plans.put_in_force(revision, person=hull.person, now=clock())

    answer = client_of(owner).get(url(hull.build))

    was = {
        (r.label, c.station.name): c.was_nm
        for g in answer.context["table"].groups
        for r in g.rows
        for c in r.cells
    }
    assert {key: nm for key, nm in was.items() if nm} == {("4", "M"): 5_000_000}
    assert "was 5.00" in " ".join(strip_tags(answer.content.decode()).split())


def test_next_row_is_washed_and_said(client_of, hull, owner):
    answer = client_of(owner).get(url(hull.build))

    rows = [r for g in answer.context["table"].groups for r in g.rows]
    assert [r.label for r in rows if r.is_next] == ["5"]
    assert '<tr class="next">' in answer.content.decode()


def test_belts_are_headings_with_run_and_state(client_of, hull, owner):
    belt = plans.plan_belt(hull.revision, hull.opening, name="Bilge belt", position=1, at_line="hold")
    hull.revision.strakes.update(belt=belt)

    answer = client_of(owner).get(url(hull.build))

    group = answer.context["table"].groups[0]
    assert (group.name, group.words) == ("Bilge belt", "both runs meet here · held at its line")


def test_limits_are_shown_as_shares_and_in_mm(client_of, hull, owner):
    answer = client_of(owner).get(url(hull.build))

    limits = answer.context["table"].limits
    assert limits["step"] == {"percent": 4.0, "nm": 200_000}
    assert limits["narrow"] == {"percent": 50.0, "nm": 2_500_000}
    assert "A strake may leave its plan by 4" in answer.content.decode()


def test_a_width_over_the_stock_is_told_with_its_rule_until_it_hangs(client_of, hull, owner, clock):
    hull.revision.strakes.get(label="4").widths.filter(station=hull.stations[1]).update(width_nm=6_090_000)
    hull.build.openings.update(stock_width_nm=6_000_000)
    url = reverse("plan", args=[hull.build.uuid])

    page = " ".join(strip_tags(client_of(owner).get(url).content.decode()).split())
    hang(hull, "4", clock())
    after = client_of(owner).get(url).content.decode()

    # 6 mm at 1:48 is 11.34 in (6 / 25.4 x 48), 6.09 mm 11.51 in.
    assert "Strake 4 at M: 11.5 in (6.09 mm), and the stock is 11.3 in (6.00 mm) wide." in page
    assert "Not wider than the wood in hand." in page
    assert "the wood in hand" not in after


def test_one_station_reads_down_the_page(client_of, hull, reader):
    answer = client_of(reader).get(url(hull.build, "?at=M"))

    page = " ".join(answer.content.decode().split())
    assert "At M" in page
    assert "25.000 − 25.000 widths − 0.000 seams" in page


@pytest.mark.parametrize("query", ["?at=nowhere", "?side=both", "?size=huge", "?at=%00", "?side[]=x"])
def test_odd_query_shows_the_usual_page(client_of, hull, reader, query):
    answer = client_of(reader).get(url(hull.build, query))

    assert answer.status_code in (200, 400)
    if answer.status_code == 200:
        assert answer.context["opening"] == hull.opening


def test_other_side_is_a_link(client_of, owner):
    build = lay_down_hull(owner, sides=("port", "starboard")).build

    answer = client_of(owner).get(url(build, "?side=starboard"))

    assert answer.context["opening"].side == "starboard"
    assert "?side=port" in answer.content.decode()


def test_page_and_fragment_hold_the_same_table(client_of, hull, reader):
    browser = client_of(reader)

    page = browser.get(url(hull.build)).content.decode()
    fragment = browser.get(url(hull.build), headers={"hx-request": "true"}).content.decode()

    assert "<html" in page
    assert "<html" not in fragment
    assert fragment.strip() in page
    assert fragment.strip().startswith('<div class="stack" id="plan"')


def test_build_without_a_plan_says_how_to_get_one(client_of, hull, owner):
    PlanRevision.objects.update(state="draft")

    page = client_of(owner).get(url(hull.build)).content.decode()

    assert "No plan yet" in page
    assert reverse("first-plan", args=[hull.build.uuid]) in page


def test_reader_sees_no_way_to_change_the_plan(client_of, hull, reader, owner):
    links = [
        reverse(name, args=[hull.build.uuid]) for name in ("next-widths", "build-scale", "station-names")
    ]

    shown = client_of(reader).get(url(hull.build)).content.decode()
    own = client_of(owner).get(url(hull.build)).content.decode()

    assert [link in shown for link in links] == [False, False, False]
    assert [link in own for link in links] == [True, True, True]


def test_stranger_finds_nothing(client_of, hull, stranger):
    assert client_of(stranger).get(url(hull.build)).status_code == 404


def test_wrong_method_is_refused(client_of, hull, owner):
    assert client_of(owner).post(url(hull.build)).status_code == 405


def test_plan_asks_as_much_of_the_records_for_nine_strakes_as_for_three(
    client_of, owner, django_assert_num_queries
):
    few, many = lay_down_hull(owner, labels=3).build, lay_down_hull(owner, labels=9, name="Nine").build
    browser = client_of(owner)
    for build in (few, many):
        browser.get(url(build))

    with CaptureQueriesContext(connection) as first:
        browser.get(url(few))
    with django_assert_num_queries(len(first)):
        browser.get(url(many))
