"""A draft edited in place: cells by role, locked rows, what two people type, the sum of each station."""

import pytest
from django.urls import reverse

from buildlog.actions.plans import copy_revision, put_in_force
from buildlog.models import Event, PlanRevision, PlanWidth
from tests.hulls import LAID_DOWN, hang, lay_down_hull

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def draft(hull, clock):
    return copy_revision(hull.revision, reason="wider at M", person=hull.person, now=clock())


def page_url(hull, draft, query=""):
    return reverse("revision-edit", args=[hull.build.uuid, draft.uuid]) + query


def cell_url(hull, draft, label, station):
    return reverse("plan-width-cell", args=[hull.build.uuid, draft.uuid, hull.strakes[label].uuid, station.uuid])


def row_url(hull, draft, label):
    return reverse("plan-width-row", args=[hull.build.uuid, draft.uuid, hull.strakes[label].uuid])


def share_url(hull, draft):
    return reverse("plan-width-share", args=[hull.build.uuid, draft.uuid, hull.opening.uuid])


def width(draft, hull, label, station):
    return PlanWidth.objects.filter(
        plan_strake__revision=draft, plan_strake__strake=hull.strakes[label], station=station
    ).first()


def typed(station, text, was="5000000|5.00", **more):
    return {f"w-{station.pk}": text, f"was-{station.pk}": was, **more}


def post_cell(browser, hull, draft, label, station, text, **more):
    return browser.post(cell_url(hull, draft, label, station), typed(station, text, **more), **HTMX)


def test_cell_is_kept_as_typed_and_answers_the_sum_of_its_station(client_of, owner, hull, draft):
    """Five strakes of 5.00 on a girth of 25.00; one made 4.80 leaves the station short by 0.20, by hand."""
    station = hull.stations[1]

    answer = post_cell(client_of(owner), hull, draft, "2", station, "4,80")

    kept = width(draft, hull, "2", station)
    assert (kept.width_nm, kept.typed, kept.unit, kept.size) == (4_800_000, "4,80", "mm", "model")
    text = " ".join(answer.content.decode().split())
    assert f'<div id="sum-{station.pk}" hx-swap-oob="true"> <b>short 0.200</b>' in text
    assert 'value="4.80"' in text
    assert f"sum-{hull.stations[0].pk}" not in text


def test_full_size_fraction_is_kept_as_typed_and_shown_on_the_model(client_of, owner, hull, draft):
    """9 in at 1:48 is 9 x 25.4 / 48 = 4.7625 mm."""
    station = hull.stations[1]

    answer = post_cell(client_of(owner), hull, draft, "2", station, "9", size="full")

    kept = width(draft, hull, "2", station)
    assert (kept.width_nm, kept.typed, kept.unit, kept.size) == (4_762_500, "9", "in", "full")
    assert '<span class="was">4.76</span>' in answer.content.decode()


@pytest.mark.parametrize("text", ["wide", "4.8.1", "-3", "0", "1/0", "9" * 41, "³"])
def test_what_cannot_be_read_stays_in_the_field_with_its_sentence(client_of, owner, hull, draft, text):
    station = hull.stations[1]

    answer = post_cell(client_of(owner), hull, draft, "2", station, text)

    page = answer.content.decode()
    assert f'value="{text}"' in page
    assert "idth of strake 2 at M" in page
    assert 'aria-invalid="true"' in page
    assert width(draft, hull, "2", station).width_nm == 5_000_000


def test_what_was_refused_is_told_over_the_table_until_it_is_put_right(client_of, owner, hull, draft):
    station, strake = hull.stations[1], hull.strakes["2"]
    problem, told = f'id="e-{strake.pk}-{station.pk}"', {f"told-{station.pk}": "1"}
    sent = (client_of(owner), hull, draft, "2", station)

    first = post_cell(*sent, "abc").content.decode()
    second = post_cell(*sent, "abd", **told).content.decode()
    good = post_cell(*sent, "4,80", **told).content.decode()

    assert f'<div hx-swap-oob="beforeend:#plan-problems"> <p class="err" {problem}><b>' in " ".join(first.split())
    assert f'<p class="err" {problem} hx-swap-oob="true"><b>' in second
    assert f'<p class="err" {problem} hx-swap-oob="delete"><b>' in good
    assert 'value="4.80"' in good
    assert "told-" not in good.replace(f"told-{station.pk},size", "")


def test_row_of_several_refused_tells_each_over_the_table(client_of, owner, hull, draft):
    sent = typed(hull.stations[0], "abc") | typed(hull.stations[1], "abd")

    page = " ".join(client_of(owner).post(row_url(hull, draft, "2"), sent).content.decode().split())

    over, _section, table = page.partition('<table class="widths plan-cells"')
    assert over.count('<p class="err" id="e-') == 2
    assert 'class="err"' not in table
    assert table.count('aria-invalid="true"') == 2


def test_emptied_cell_takes_the_width_out_and_the_sum_says_so(client_of, owner, hull, draft):
    station = hull.stations[1]

    answer = post_cell(client_of(owner), hull, draft, "2", station, "")

    assert width(draft, hull, "2", station) is None
    assert "short 5.000" in answer.content.decode()


def test_two_people_on_one_cell_the_loser_sees_both(client_of, owner, builder, hull, draft):
    station = hull.stations[1]
    post_cell(client_of(builder), hull, draft, "2", station, "4.80")

    lost = post_cell(client_of(owner), hull, draft, "2", station, "4.90")

    page = lost.content.decode()
    assert lost.status_code == 409
    assert 'value="4.90"' in page
    assert "It is 4.80 now; yours is in the field." in page
    assert width(draft, hull, "2", station).width_nm == 4_800_000
    # The answer carries what stands now, so sending the same again is a decision.
    assert f'name="was-{station.pk}" value="4800000|4.80"' in page
    again = post_cell(client_of(owner), hull, draft, "2", station, "4.90", was="4800000|4.80")
    assert again.status_code == 200
    assert width(draft, hull, "2", station).width_nm == 4_900_000


def test_row_without_script_keeps_the_bad_cell_and_saves_the_good_one(client_of, owner, hull, draft):
    first, second, _third = hull.stations

    answer = client_of(owner).post(row_url(hull, draft, "2"), typed(first, "4.7") | typed(second, "wide"))

    page = answer.content.decode()
    assert answer.status_code == 200
    assert 'value="wide"' in page
    assert width(draft, hull, "2", first).width_nm == 4_700_000
    assert width(draft, hull, "2", second).width_nm == 5_000_000


def test_row_without_script_saves_and_goes_back_to_the_table(client_of, owner, hull, draft):
    answer = client_of(owner).post(row_url(hull, draft, "2"), typed(hull.stations[0], "4.7"))

    assert answer.status_code == 302
    assert answer.url == page_url(hull, draft, "?side=port")


def test_untouched_cell_writes_nothing(client_of, owner, hull, draft):
    before = Event.objects.count()

    post_cell(client_of(owner), hull, draft, "2", hull.stations[0], "5.00")

    assert Event.objects.count() == before
    assert width(draft, hull, "2", hull.stations[0]).typed == ""


@pytest.mark.parametrize("size", ["model", "full"])
def test_what_is_shown_and_sent_back_changes_nothing(client_of, owner, hull, draft, size):
    """5 mm is 9 7/16 in and a little; sending back what is shown must not round the plan."""
    browser = client_of(owner)
    table = browser.get(page_url(hull, draft, f"?size={size}")).context["table"]
    sent = {}
    for cell in table.rows[0].cells:
        sent |= typed(cell.station, cell.text, was=f"{cell.width_nm}|{cell.shown}", size=size)

    browser.post(row_url(hull, draft, table.rows[0].label), sent)

    assert {w.width_nm for w in PlanWidth.objects.filter(plan_strake__revision=draft)} == {5_000_000}


@pytest.mark.parametrize("htmx", [True, False])
def test_hung_strake_is_refused_with_the_reason(client_of, owner, hull, draft, clock, htmx):
    hang(hull, "1", clock())
    station = hull.stations[1]
    url = cell_url(hull, draft, "1", station) if htmx else row_url(hull, draft, "1")

    answer = client_of(owner).post(url, typed(station, "4.80"), **(HTMX if htmx else {}))

    assert answer.status_code == 409
    assert "Strake 1 is hung" in answer.content.decode()
    assert width(draft, hull, "1", station).width_nm == 5_000_000


def test_hung_strake_has_no_field(client_of, owner, hull, draft, clock):
    hang(hull, "1", clock())

    page = client_of(owner).get(page_url(hull, draft)).content.decode()

    assert f'id="w-{hull.strakes["1"].pk}-' not in page
    assert f'id="w-{hull.strakes["2"].pk}-' in page


def test_draft_put_in_force_is_not_edited_any_more(client_of, owner, hull, draft, clock):
    put_in_force(draft, person=hull.person, now=clock())

    answer = post_cell(client_of(owner), hull, draft, "2", hull.stations[1], "4.80")

    assert answer.status_code == 409
    assert "no draft any more" in answer.content.decode()
    assert width(draft, hull, "2", hull.stations[1]).width_nm == 5_000_000
    assert client_of(owner).get(page_url(hull, draft)).status_code == 302


def test_helper_and_reader_may_not_and_a_stranger_finds_nothing(
    client_of, helper, reader, stranger, builder, hull, draft
):
    found = {
        name: post_cell(client_of(who), hull, draft, "2", hull.stations[1], "4.80").status_code
        for name, who in {"helper": helper, "reader": reader, "stranger": stranger, "builder": builder}.items()
    }

    assert found == {"helper": 403, "reader": 403, "stranger": 404, "builder": 200}


def test_strake_of_another_build_is_not_found(client_of, owner, hull, draft):
    other = lay_down_hull(owner, name="Other")

    answer = client_of(owner).post(
        reverse("plan-width-row", args=[hull.build.uuid, draft.uuid, other.strakes["1"].uuid]), {}
    )

    assert answer.status_code == 404


def test_garboard_given_the_rest_divided(client_of, owner, hull, draft):
    """38 1/2 in with a garboard of 11 1/2 in, three strakes left: 9 in each. Common practice, no source."""
    browser, station = client_of(owner), hull.stations[1]
    draft.openings.get().girths.filter(station=station).update(girth_nm=round(38.5 * 25_400_000 / 48))
    PlanWidth.objects.filter(plan_strake__revision=draft, plan_strake__label="5").delete()
    draft.strakes.get(label="5").delete()
    post_cell(browser, hull, draft, "1", station, "11 1/2", size="full")
    others = [str(hull.strakes[label].uuid) for label in "234"]

    answer = browser.post(
        share_url(hull, draft), {"how": "equal", "strakes": others, "stations": [str(station.uuid)]}, follow=True
    )

    assert "38 1/2 − 11 1/2 = 27; 27 / 3 = 9 in" in answer.content.decode()
    assert [width(draft, hull, label, station).width_nm for label in "234"] == [4_762_500] * 3


def test_what_is_left_is_given_to_the_chosen_strakes(client_of, owner, hull, draft):
    """Short by 0.20 after one is made 4.80: two strakes take 0.10 more each."""
    browser, station = client_of(owner), hull.stations[1]
    post_cell(browser, hull, draft, "2", station, "4.80")
    chosen = [str(hull.strakes[label].uuid) for label in "34"]

    browser.post(share_url(hull, draft), {"how": "add", "strakes": chosen, "stations": [str(station.uuid)]})

    assert [width(draft, hull, label, station).width_nm for label in "234"] == [4_800_000, 5_100_000, 5_100_000]


def test_sum_that_is_short_leads_to_giving_it_away_at_that_station(client_of, owner, hull, draft):
    browser, station = client_of(owner), hull.stations[1]

    answer = post_cell(browser, hull, draft, "2", station, "4.80").content.decode()

    link = f"{share_url(hull, draft)}?at={station.uuid}"
    assert link in answer
    assert browser.get(link).context["form"].initial["stations"] == [str(station.uuid)]


def test_dividing_asks_for_what_was_not_chosen(client_of, owner, hull, draft):
    page = client_of(owner).post(share_url(hull, draft), {"how": "add"}).content.decode()

    assert "Strakes that share: choose one or more." in page
    assert "At: choose one or more stations." in page


def test_locked_strake_cannot_be_made_to_share(client_of, owner, hull, draft, clock):
    hang(hull, "1", clock())
    sent = {"how": "equal", "strakes": [str(hull.strakes["1"].uuid)], "stations": [str(hull.stations[1].uuid)]}

    answer = client_of(owner).post(share_url(hull, draft), sent)

    assert "is not in the draft any more, or is locked." in answer.content.decode()


def test_more_strakes_cost_no_more_queries(client_of, owner, django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    counts = []
    for labels in (3, 9):
        hull = lay_down_hull(owner, labels=labels, name=f"Hull {labels}")
        held = copy_revision(hull.revision, reason="", person=hull.person, now=LAID_DOWN)
        browser = client_of(owner)
        with CaptureQueriesContext(connection, ) as seen:
            browser.get(page_url(hull, held))
        counts.append(len(seen))

    assert counts[0] == counts[1]
    assert PlanRevision.objects.filter(state="draft").count() == 2


@pytest.mark.parametrize(
    ("steps", "shown"),
    [
        # Diminishing strakes below the wale, common practice, no source; at 1:48 an inch is 25.4 / 48 mm.
        (["4", "3 1/2", "3", "2 3/4", "2 1/2"], ["2.12", "1.85", "1.59", "1.46", "1.32"]),
        # A revenue cutter's wale, diminishing strake and bottom: 3, 2 1/2 and 2 in, 1.5875, 1.3229, 1.0583 mm.
        (["3", "2 1/2", "2", "2", "2"], ["1.59", "1.32", "1.06", "1.06", "1.06"]),
    ],
)
def test_thickness_steps_from_the_wale_are_shown_on_the_model(client_of, owner, hull, draft, steps, shown):
    browser, station = client_of(owner), hull.stations[1]
    for label, inches in zip("54321", steps, strict=True):
        post_cell(browser, hull, draft, label, station, inches, was="|", size="full", what="thickness")

    page = browser.get(page_url(hull, draft, "?what=thickness"))

    rows = page.context["table"].rows
    assert [row.cell_at(station.pk).text for row in rows] == shown
    assert rows[0].cell_at(station.pk).step_nm is None
    # Half an inch is 0.26 mm at 1:48.
    assert "step −0.26" in " ".join(page.content.decode().split())
    assert {w.width_nm for w in PlanWidth.objects.filter(plan_strake__revision=draft)} == {5_000_000}


def test_thickness_answers_the_step_of_the_strake_on_its_keel_side(client_of, owner, hull, draft):
    browser, station = client_of(owner), hull.stations[1]
    post_cell(browser, hull, draft, "4", station, "1.5", was="|", what="thickness")

    answer = post_cell(browser, hull, draft, "5", station, "2.0", was="|", what="thickness").content.decode()

    plan = hull.strakes["4"]
    assert f'id="step-{plan.pk}-{station.pk}" hx-swap-oob="true">step −0.50' in " ".join(answer.split())
    assert "sum-" not in answer


def test_thickness_needs_a_width_and_a_sentence_names_it(client_of, owner, hull, draft):
    browser, station = client_of(owner), hull.stations[1]
    bad = post_cell(browser, hull, draft, "4", station, "thick", was="|", what="thickness")
    post_cell(browser, hull, draft, "4", station, "")

    answer = post_cell(browser, hull, draft, "4", station, "2", was="|", what="thickness")

    assert "Thickness of strake 4 at M" in bad.content.decode()
    assert answer.status_code == 409
    assert "Strake 4 has no width at M yet" in answer.content.decode()
