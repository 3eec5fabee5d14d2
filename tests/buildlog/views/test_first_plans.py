"""From the planking so far to the answer, and the answer put in force."""

import pytest
from django.urls import reverse

from buildlog.actions.builds import name_stations, set_scale, set_sides, set_station_count, start_build
from buildlog.models import PlanRevision, Reading
from planking.lengths import Scale

GAPS = {"gap_0": "14.97", "gap_1": "20.82", "gap_2": "22.16", "gap_3": "21.27", "gap_4": "20.93"}
HALF = {"port_hung_keel": "4", "port_hung_wale": "9", "port_left": "5"}


def set_up(account, now, *, sides="port", names=("Q", "H", "⊗", "8", "16"), runs="both", layer=1, layers=1):
    build = start_build(account, name="Orlawen", now=now)
    person = build.people.get()
    told = {"person": person, "now": now}
    set_scale(build, build.version, scale=Scale(1, 48), reading_unit="mm", **told)
    set_sides(build, build.version, sides=sides, layers=layers, layer=layer, runs=runs, **told)
    set_station_count(build, build.version, count=len(names), frame_word="frame", **told)
    flat = len(names) // 2
    name_stations(build, build.version, names=list(names), dead_flat=flat, distances_nm=[], **told)
    return build


@pytest.fixture
def one_sided(owner, clock):
    return set_up(owner, clock())


@pytest.fixture
def both_sides(owner, clock):
    return set_up(owner, clock(), sides="both")


def url(name, build, *more):
    return reverse(name, args=[build.uuid, *more])


def tell(browser, build, planking, gaps, side="port"):
    build.refresh_from_db()
    browser.post(url("first-plan-planking", build), planking | {"version": build.version})
    return browser.post(url("first-plan-gaps", build, side), gaps)


def test_half_planked_hull_gets_its_answer(client_of, one_sided, owner):
    browser = client_of(owner)

    told = tell(browser, one_sided, HALF, GAPS)
    answer = browser.get(url("first-plan", one_sided))

    assert told["Location"] == url("first-plan", one_sided)
    rows = answer.context["answers"][0].rows
    # 14.97 / 5 = 2.994, 20.82 / 5 = 4.164, 22.16 / 5 = 4.432, 21.27 / 5 = 4.254, 20.93 / 5 = 4.186, by hand.
    assert [row.width_nm for row in rows] == [2_994_000, 4_164_000, 4_432_000, 4_254_000, 4_186_000]
    page = answer.content.decode()
    assert "Cut the next five" in page
    assert "all five alike" in page
    assert "Show it as a cut card" in page
    assert "Seams not counted yet" in page
    assert not Reading.objects.exists()


def test_answer_put_in_force_shows_the_card_of_the_next_strake(client_of, one_sided, owner):
    browser = client_of(owner)
    tell(browser, one_sided, HALF, GAPS)

    put = browser.post(url("first-plan-put", one_sided))

    next_one = PlanRevision.objects.get(state="in_force").strakes.get(label="9")
    assert put["Location"] == url("card-detail", one_sided, next_one.strake.uuid)
    assert browser.get(put["Location"]).status_code == 200
    assert Reading.objects.filter(kind="gap").count() == 5


def test_answer_put_in_force_may_go_to_the_bench_and_is_put_once(
    client_of, one_sided, owner
):
    browser = client_of(owner)
    tell(browser, one_sided, HALF, GAPS)

    first = browser.post(url("first-plan-go", one_sided))
    second = browser.post(url("first-plan-go", one_sided))

    assert first["Location"] == second["Location"] == url("bench", one_sided)
    assert PlanRevision.objects.count() == 1
    assert browser.get(url("bench", one_sided)).status_code == 200


def test_gaps_only_with_the_whole_count_serves_a_bare_hull(client_of, one_sided, owner):
    browser = client_of(owner)

    tell(browser, one_sided, {"port_left": "18"}, {"gap_2": "85.7"})
    answer = browser.get(url("first-plan", one_sided)).context["answers"][0]

    assert (answer.left, answer.rows[0].width_nm) == (18, 4_761_111)


def test_double_planked_hull_on_seven_bulkheads_gets_its_answer(client_of, owner, clock):
    build = set_up(owner, clock(), names=[str(n) for n in range(1, 8)], layers=2, layer=1, runs="wale")
    browser = client_of(owner)

    tell(browser, build, {"port_left": "12"}, {f"gap_{i}": str(48 + i) for i in range(7)})
    browser.post(url("first-plan-put", build))

    revision = PlanRevision.objects.get()
    assert revision.strakes.count() == 12
    assert revision.strakes.get(run="closing").label == "1"
    assert revision.strakes.get(label="12").widths.count() == 7


def test_two_sides_have_an_answer_each(client_of, both_sides, owner):
    browser = client_of(owner)
    tell(browser, both_sides, HALF, GAPS)

    told = browser.post(url("first-plan-gaps", both_sides, "starboard"), GAPS | {"gap_2": "22.46"})
    answers = browser.get(told["Location"]).context["answers"]

    assert [a.side for a in answers] == ["port", "starboard"]
    assert answers[1].rows[2].width_nm == 4_492_000


def test_second_side_may_be_measured_later(client_of, both_sides, owner):
    browser = client_of(owner)
    told = tell(browser, both_sides, HALF, GAPS)
    assert told["Location"] == url("first-plan-gaps", both_sides, "starboard")

    skipped = browser.post(url("first-plan-skip", both_sides, "starboard"))
    browser.post(url("first-plan-go", both_sides))

    assert skipped["Location"] == url("first-plan", both_sides)
    for room in ("bench", "hull", "plan", "log"):
        assert browser.get(url(room, both_sides)).status_code == 200


def test_first_side_cannot_be_skipped(client_of, both_sides, owner):
    browser = client_of(owner)
    browser.post(url("first-plan-planking", both_sides), HALF | {"version": both_sides.version})

    answer = browser.post(url("first-plan-skip", both_sides, "port"))

    assert answer["Location"] == url("first-plan-gaps", both_sides, "port")


def test_bench_without_a_plan_is_open_to_whoever_has_no_gap_yet(client_of, one_sided, owner):
    browser = client_of(owner)
    browser.post(url("first-plan-planking", one_sided), HALF | {"version": one_sided.version})

    answer = browser.post(url("first-plan-leave", one_sided))

    assert answer["Location"] == url("bench", one_sided)
    assert browser.get(url("bench", one_sided)).status_code == 200
    assert browser.get("/")["Location"] == url("bench", one_sided)
    page = browser.get(url("plan", one_sided)).content.decode()
    assert "No plan yet" in page
    assert browser.get(url("first-plan", one_sided))["Location"] == url("first-plan-gaps", one_sided, "port")


@pytest.mark.parametrize("page", ["first-plan-planking", "first-plan"])
def test_page_that_comes_too_early_leads_to_the_open_question(client_of, owner, clock, page):
    build = start_build(owner, name="Orlawen", now=clock())

    assert client_of(owner).get(url(page, build))["Location"] == url("build-scale", build)


def test_gap_page_keeps_what_was_typed_beside_what_is_asked(client_of, one_sided, owner):
    browser = client_of(owner)

    answer = tell(browser, one_sided, HALF, GAPS | {"gap_3": "0.837"})

    page = answer.content.decode()
    assert answer.status_code == 200
    assert 'value="20.93"' in page
    assert 'value="0.837"' in page
    assert '<button class="link" name="gap_3-take" value="0.837 in on the model">21.26</button>' in page


def test_answer_to_the_question_is_taken_and_kept_as_typed(client_of, one_sided, owner):
    browser = client_of(owner)
    asked = GAPS | {"gap_3": "0.837", "gap_3-take": "0.837 in on the model"}

    told = tell(browser, one_sided, HALF, asked)
    browser.post(url("first-plan-go", one_sided))

    assert told.status_code == 302
    reading = Reading.objects.get(station__name="8")
    assert (reading.value_nm, reading.typed, reading.unit) == (21_259_800, "0.837 in on the model", "in")


def test_reason_for_an_odd_gap_goes_into_the_log(client_of, one_sided, owner):
    browser = client_of(owner)

    tell(browser, one_sided, HALF, GAPS | {"gap_3": "99.9", "gap_3-keep": "a bulge, read twice"})
    browser.post(url("first-plan-go", one_sided))

    assert Reading.objects.get(station__name="8").kept_reason == "a bulge, read twice"


def test_back_from_the_gaps_finds_them_again(client_of, one_sided, owner):
    browser = client_of(owner)
    browser.post(url("first-plan-planking", one_sided), HALF | {"version": one_sided.version})

    back = browser.post(
        reverse("first-run-back", args=[one_sided.uuid, "first-plan-gaps", "port"]),
        {"gap_0": "14.9", "gap_1": "x"},
    )

    assert back["Location"] == url("first-plan-planking", one_sided)
    page = browser.get(url("first-plan-gaps", one_sided, "port")).content.decode()
    assert 'value="14.9"' in page
    assert 'value="x"' in page
    assert 'value="9"' in browser.get(back["Location"]).content.decode()


def test_gaps_changed_after_the_answer_change_the_answer(client_of, one_sided, owner):
    browser = client_of(owner)
    tell(browser, one_sided, HALF, GAPS)

    browser.post(url("first-plan-gaps", one_sided, "port"), GAPS | {"gap_2": "22.46"})

    assert browser.get(url("first-plan", one_sided)).context["answers"][0].rows[2].width_nm == 4_492_000


@pytest.mark.parametrize(
    ("planking", "gaps", "sentence"),
    [
        pytest.param(HALF | {"stock": "4.2"}, GAPS, "At ⊗ 4.43 is wider than the stock, 4.20", id="stock"),
        pytest.param(HALF, GAPS | {"gap_0": "10.5"}, "At Q 2.10 is under 2.22, half the full", id="half"),
        pytest.param(
            HALF, GAPS | {"gap_4": "34"}, "At 16 6.80 is over 6.65, one and a half times the full width 4.43",
            id="one and a half",
        ),
    ],
)  # fmt: skip
def test_width_past_its_limit_is_warned_of(
    client_of, one_sided, owner, planking, gaps, sentence
):
    browser = client_of(owner)
    tell(browser, one_sided, planking, gaps)

    answer = browser.get(url("first-plan", one_sided))

    assert any(warning.startswith(sentence) for warning in answer.context["answers"][0].warnings)
    assert "would do" in answer.content.decode()


def test_counts_that_differ_along_the_hull_are_divided_by_their_own(client_of, one_sided, owner):
    browser = client_of(owner)

    tell(browser, one_sided, HALF | {"left_0": "4"}, GAPS)
    answer = browser.get(url("first-plan", one_sided))

    # 14.97 / 4 = 3.7425, by hand.
    assert answer.context["answers"][0].rows[0].width_nm == 3_742_500
    assert "fewer where strakes stop short" in answer.content.decode()


def test_planned_hull_is_not_begun_again(client_of, hull, owner):
    browser = client_of(owner)

    for page in ("first-plan", "first-plan-planking", "build-sides", "station-count"):
        assert browser.get(url(page, hull.build))["Location"] == url("plan", hull.build)
    browser.post(url("first-plan-put", hull.build))
    assert PlanRevision.objects.count() == 1


@pytest.mark.parametrize("role", ["stranger", "reader", "helper"])
@pytest.mark.parametrize("page", ["first-plan", "first-plan-planking", "first-plan-put", "first-plan-leave"])
def test_planning_is_for_those_who_may_plan(request, client_of, build, role, page):
    browser = client_of(request.getfixturevalue(role))

    post = page.endswith(("put", "leave"))
    answer = browser.post(url(page, build)) if post else browser.get(url(page, build))

    assert answer.status_code == (404 if role == "stranger" else 403)


@pytest.mark.parametrize("page", ["first-plan-put", "first-plan-go", "first-plan-leave"])
def test_deeds_are_posts(client_of, one_sided, owner, page):
    assert client_of(owner).get(url(page, one_sided)).status_code == 405


def test_answer_asks_few_questions_of_the_records(client_of, one_sided, owner, django_assert_max_num_queries):
    browser = client_of(owner)
    tell(browser, one_sided, HALF, GAPS)
    browser.get(url("first-plan", one_sided))

    with django_assert_max_num_queries(20):
        browser.get(url("first-plan", one_sided))


def test_big_hull_is_put_in_force_in_few_queries(client_of, both_sides, owner, django_assert_max_num_queries):
    browser = client_of(owner)
    tell(browser, both_sides, {"port_hung_keel": "12", "port_hung_wale": "12", "port_left": "8"}, GAPS)
    browser.post(url("first-plan-skip", both_sides, "starboard"))

    # 64 strakes: one row and one plan each; what hung before is written in one go.
    with django_assert_max_num_queries(330):
        browser.post(url("first-plan-go", both_sides))
