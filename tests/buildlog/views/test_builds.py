"""The list of builds, the front page, and a build's name, scale and sides."""

import uuid

import pytest
from django.urls import reverse

from buildlog.actions.builds import set_scale, start_build
from buildlog.models import Build
from tests.hulls import lay_down_hull


@pytest.fixture
def begun(owner, clock):
    return start_build(owner, name="Orlawen", now=clock())


def page(name, build):
    return reverse(name, args=[build.uuid])


def start(browser, **changes):
    typed = {"name": "Orlawen", "kind": "planking", "build_uuid": uuid.uuid4()}
    return browser.post(reverse("build-new"), typed | changes)


def test_front_page_of_a_new_account_is_the_list(client_of, owner):
    browser = client_of(owner)

    assert browser.get("/")["Location"] == reverse("build-list")
    assert "A log begins with a name." in browser.get(reverse("build-list")).content.decode()


def test_front_page_leads_to_the_bench_of_the_last_build(client_of, hull, owner):
    browser = client_of(owner)

    opened = browser.get(page("build-open", hull.build))

    assert opened["Location"] == page("bench", hull.build)
    assert browser.get("/")["Location"] == page("bench", hull.build)


def test_front_page_leads_to_the_open_question_of_a_first_run(client_of, begun, owner):
    assert client_of(owner).get("/")["Location"] == page("build-scale", begun)


def test_list_holds_one_query_count_with_one_build_and_three(client_of, owner, django_assert_num_queries):
    browser = client_of(owner)
    lay_down_hull(owner)
    browser.get(reverse("build-list"))

    with django_assert_num_queries(4):
        browser.get(reverse("build-list"))
    lay_down_hull(owner, name="Second")
    lay_down_hull(owner, name="Third")
    with django_assert_num_queries(4):
        answer = browser.get(reverse("build-list"))

    assert [row["found"].build.name for row in answer.context["rows"]] == ["Third", "Second", "Test hull"]


def test_list_tells_the_sample_apart(client_of, owner):
    sample = lay_down_hull(owner, name="Sample").build
    Build.objects.filter(pk=sample.pk).update(is_sample=True)

    answer = client_of(owner).get(reverse("build-list"))

    assert answer.context["rows"] == []
    assert answer.context["sample_url"] == page("build-open", sample)
    assert "Look at the sample hull" in answer.content.decode()
    assert "Start my own" in answer.content.decode()


def test_list_shows_nothing_of_other_peoples_builds(client_of, hull, stranger):
    assert "Test hull" not in client_of(stranger).get(reverse("build-list")).content.decode()


def test_new_build_has_its_owner_its_caliper_and_its_strips(client_of, owner):
    answer = start(client_of(owner))

    build = Build.objects.get()
    assert answer["Location"] == page("build-scale", build)
    assert build.memberships.get().role == "owner"
    assert build.people.get().display_name == "owner"
    assert [i.name for i in build.instruments.all()] == ["Caliper", "Paper strip"]


def test_double_tap_starts_one_build(client_of, owner):
    browser, same = client_of(owner), uuid.uuid4()

    start(browser, build_uuid=same)
    start(browser, build_uuid=same)

    assert Build.objects.count() == 1


def test_uuid_of_somebody_elses_build_opens_nothing(client_of, hull, stranger):
    answer = start(client_of(stranger), build_uuid=hull.build.uuid)

    assert answer.context["form"].non_field_errors() == ["This build was begun a moment ago."]
    assert not hull.build.memberships.filter(account=stranger).exists()


def test_photographs_only_goes_straight_to_the_log(client_of, owner):
    answer = start(client_of(owner), kind="photographs")

    build = Build.objects.get()
    assert answer["Location"] == page("log", build)
    assert (build.photographs_only, build.set_up_at is not None) == (True, True)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "Name of the model: nothing was typed."),
        ("   ", "Name of the model: nothing was typed."),
        ("x" * 81, "Name of the model: 80 characters at most."),
        ("Orla\u202ewen", "Name of the model: it holds a character that cannot be seen. Type it anew."),
    ],
)
def test_name_that_will_not_do_is_refused_and_kept(client_of, owner, typed, sentence):
    answer = start(client_of(owner), name=typed)

    assert answer.context["form"].errors["name"] == [sentence]
    assert not Build.objects.exists()


def test_guest_starts_no_build(client_of, stranger):
    stranger.may_start_builds = False
    stranger.save()

    assert client_of(stranger).get(reverse("build-new")).status_code == 403
    assert start(client_of(stranger)).status_code == 403


@pytest.mark.parametrize(
    ("typed", "scale_text"), [("1:48", "1:48"), ("1/4 in = 1 ft", "1:48"), ("3/16", "1:64"), ("", "")]
)
def test_scale_is_read_as_it_is_written(client_of, begun, owner, typed, scale_text):
    answer = client_of(owner).post(
        page("build-scale", begun), {"scale": typed, "reading_unit": "mm", "version": begun.version}
    )

    begun.refresh_from_db()
    assert answer["Location"] == page("build-sides", begun)
    assert begun.scale_text == scale_text


@pytest.mark.parametrize(
    "typed", ["1/8", "0:48", "48:1", "1:0", "nan", "1:99999", "quarter", "1:48; drop table"]
)
def test_scale_that_is_none_is_refused_and_kept(client_of, begun, owner, typed):
    answer = client_of(owner).post(
        page("build-scale", begun), {"scale": typed, "reading_unit": "mm", "version": begun.version}
    )

    assert answer.status_code == 200
    assert answer.context["form"].errors["scale"][0].startswith("Scale")
    assert answer.context["form"]["scale"].value() == typed


def test_what_the_caliper_reads_is_kept_on_it(client_of, begun, owner):
    client_of(owner).post(
        page("build-scale", begun), {"scale": "1:48", "reading_unit": "64ths", "version": begun.version}
    )

    caliper = begun.instruments.get(name="Caliper")
    assert (caliper.reading_unit, caliper.resolution_nm) == ("64ths", 396_875)


def test_newer_scale_is_shown_beside_the_typed_one(client_of, begun, owner, clock):
    seen = begun.version
    set_scale(begun, seen, scale=None, reading_unit="in", person=begun.people.get(), now=clock())

    answer = client_of(owner).post(
        page("build-scale", begun), {"scale": "1:64", "reading_unit": "mm", "version": seen}
    )

    assert answer.status_code == 409
    assert "Somebody changed this build while you wrote." in answer.content.decode()
    assert answer.context["form"]["scale"].value() == "1:64"
    assert answer.context["form"]["version"].value() == begun.version


def test_scale_of_a_planned_hull_changes_and_readings_stay(client_of, hull, owner):
    answer = client_of(owner).post(
        page("build-scale", hull.build),
        {"scale": "1:64", "reading_unit": "mm", "version": hull.build.version},
    )

    hull.build.refresh_from_db()
    assert answer["Location"] == page("plan", hull.build)
    assert hull.build.scale_text == "1:64"


def test_scale_stays_while_the_plan_holds_full_size_widths(client_of, hull, owner):
    hull.revision.strakes.first().widths.update(size="full")

    answer = client_of(owner).post(
        page("build-scale", hull.build),
        {"scale": "1:64", "reading_unit": "mm", "version": hull.build.version},
    )

    assert "widths typed at full size" in answer.context["form"].errors["scale"][0]


def test_sides_make_their_openings(client_of, begun, owner):
    answer = client_of(owner).post(
        page("build-sides", begun),
        {"sides": "both", "layer": "second", "runs": "wale", "version": begun.version},
    )

    begun.refresh_from_db()
    assert answer["Location"] == page("build-scale", begun)
    assert [(o.side, o.layer) for o in begun.openings.all()] == [("port", 2), ("starboard", 2)]
    assert (begun.first_run["layers"], begun.first_run["runs"]) == (2, "wale")


def test_side_taken_back_takes_its_opening_along(client_of, begun, owner):
    browser = client_of(owner)
    for sides in ("both", "starboard"):
        begun.refresh_from_db()
        browser.post(
            page("build-sides", begun),
            {"sides": sides, "layer": "single", "runs": "both", "version": begun.version},
        )

    assert [o.side for o in begun.openings.all()] == ["starboard"]


@pytest.mark.parametrize("missing", ["sides", "layer", "runs"])
def test_side_question_left_open_is_named(client_of, begun, owner, missing):
    typed = {"sides": "both", "layer": "single", "runs": "both", "version": begun.version}
    del typed[missing]

    answer = client_of(owner).post(page("build-sides", begun), typed)

    assert list(answer.context["form"].errors) == [missing]


def test_back_keeps_what_was_typed_and_goes_a_page_back(client_of, begun, owner):
    browser = client_of(owner)

    back = browser.post(
        reverse("first-run-back", args=[begun.uuid, "build-scale", "-"]),
        {"scale": "1:4", "reading_unit": "in", "version": "1"},
    )

    assert back["Location"] == page("build-name", begun)
    again = browser.get(page("build-scale", begun))
    assert 'value="1:4"' in again.content.decode()


@pytest.mark.parametrize(
    ("role", "status"), [("stranger", 404), ("reader", 403), ("helper", 403), ("builder", 200)]
)
@pytest.mark.parametrize("name", ["build-name", "build-scale", "station-names"])
def test_setting_up_is_for_those_who_plan(request, client_of, build, name, role, status):
    account = request.getfixturevalue(role)

    assert client_of(account).get(page(name, build)).status_code == status


@pytest.mark.parametrize(
    "name", ["build-name", "build-scale", "build-sides", "station-count", "station-names"]
)
def test_wrong_method_is_refused(client_of, build, owner, name):
    assert client_of(owner).delete(page(name, build)).status_code == 405


@pytest.mark.parametrize(
    "name", ["build-name", "build-scale", "build-sides", "station-count", "station-names"]
)
def test_empty_post_is_answered_in_words(client_of, begun, owner, name):
    answer = client_of(owner).post(page(name, begun), {})

    assert answer.status_code in (200, 302)
    if answer.status_code == 200:
        assert answer.context["form"].errors
