"""The Hull room."""

import re
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse

from buildlog.actions.readings import record_reading
from buildlog.sample.story import THE_END, tell_story
from tests.buildlog.url_rows import BUILD_PAGES, arguments_of
from tests.hulls import LAID_DOWN, hang


@pytest.fixture
def page(hull, owner, client_of):
    return lambda **query: client_of(owner).get(reverse("hull", args=[hull.build.uuid]), query)


def read(hull, kind, nm, day, label=None, method="jaws"):
    strake = hull.strakes[label] if label else None
    for station in hull.stations:
        record_reading(
            hull.build, client_uuid=uuid.uuid4(), now=LAID_DOWN + timedelta(days=day), kind=kind, station=station,
            opening=hull.opening, strake=strake, value_nm=nm, typed=f"{nm / 1e6:.2f}", unit="mm", method=method,
            instrument=hull.caliper if method == "jaws" else hull.strip, person=hull.person,
        )  # fmt: skip


def test_hull_without_a_plan_says_what_to_do(owner, client_of):
    from tests.factories import BuildFactory, MembershipFactory, PersonFactory

    build = BuildFactory()
    MembershipFactory(build=build, account=owner)
    PersonFactory(build=build, account=owner)

    answer = client_of(owner).get(reverse("hull", args=[build.uuid]))

    assert "No hull to draw yet" in answer.content.decode()


def test_hull_shows_verdict_map_and_table(hull, page):
    read(hull, "width", 5_060_000, 1, "1")
    hang(hull, "1", LAID_DOWN + timedelta(days=1, hours=1))
    read(hull, "gap", 19_500_000, 2, method="paper_strip")

    body = page().content.decode()

    assert 'data-verdict="spread_it"' in body
    assert body.count('role="img"') >= 3
    assert "1 of 5 strakes hung" in body
    assert reverse("opening-sums", args=[hull.build.uuid, hull.opening.uuid]) in body


def test_hull_as_known_on_a_day_knows_nothing_later(hull, page):
    read(hull, "width", 5_060_000, 1, "1")
    hang(hull, "1", LAID_DOWN + timedelta(days=1, hours=1))

    before = page(on="2026-03-01").content.decode()
    after = page(on="2026-03-02").content.decode()

    assert "0 of 5 strakes hung" in before
    assert "1 of 5 strakes hung" in after
    assert "As it was known on 2 March 2026" in after


def test_a_day_that_is_none_names_the_field_and_shows_the_present(page):
    body = page(on="yesterday").content.decode()

    assert "As known on: write the day as 2026-02-14." in body
    assert "yesterday" in body
    assert "As it was known" not in body


def test_hull_asks_no_more_of_the_database_for_more_strakes(owner, client_of, django_assert_max_num_queries):
    build = tell_story(owner)
    url = reverse("hull", args=[build.uuid])
    browser = client_of(owner)
    browser.get(url)

    with django_assert_max_num_queries(25):
        browser.get(url)


def test_the_sum_of_a_verdict_can_be_followed(hull, owner, client_of):
    read(hull, "gap", 24_500_000, 1, method="paper_strip")

    body = client_of(owner).get(reverse("opening-sums", args=[hull.build.uuid, hull.opening.uuid])).content.decode()

    assert "25.00" in body
    assert "−24.50" in body
    assert "0.50" in body


def test_a_sum_of_another_build_is_not_found(hull, owner, stranger, client_of):
    from tests.hulls import lay_down_hull

    other = lay_down_hull(stranger, name="Another hull")
    url = reverse("opening-sums", args=[hull.build.uuid, other.opening.uuid])

    assert client_of(owner).get(url).status_code == 404


@pytest.mark.parametrize("name", sorted(name for name, page in BUILD_PAGES.items() if page.reads))
def test_facts_that_cannot_be_reckoned_are_said_and_break_no_page(hull, owner, client_of, name):
    # Stations whose places do not grow forward to aft: nothing that a page lets happen, but an old row may hold it.
    first, last = hull.stations[0], hull.stations[-1]
    type(first).objects.filter(pk=first.pk).update(x_nm=last.x_nm + 1)

    answer = client_of(owner).get(reverse(name, args=arguments_of(name, hull)))

    assert answer.status_code in BUILD_PAGES[name].answers
    if name == "hull":
        assert "their places along the hull must grow" in answer.content.decode()


def test_a_club_page_stands_where_facts_cannot_be_reckoned(hull, client):
    from buildlog.actions.links import make_link, token_of

    link = make_link(hull.build, name="The club", person=hull.person, now=LAID_DOWN)
    first, last = hull.stations[0], hull.stations[-1]
    type(first).objects.filter(pk=first.pk).update(x_nm=last.x_nm + 1)

    for name in ("club", "club-file", "club-feed"):
        assert client.get(reverse(name, args=[token_of(link)])).status_code == 200


def test_closed_hull_says_where_the_largest_step_is(client_of, owner):
    build = tell_story(owner, until=THE_END)

    page = client_of(owner).get(reverse("hull", args=[build.uuid])).content.decode()

    assert "Largest step off the plan: 0.15" in page
    assert "10 to 9. That is where the recut began." in " ".join(page.split())


def test_runs_are_foretold_up_to_the_closing_strake_with_their_spread(client_of, owner):
    """Both dots together are what the closing strake lacks; both fans together its interval of 95 in 100."""
    build = tell_story(owner)

    page = client_of(owner).get(reverse("hull", args=[build.uuid]))

    for _opening, review, picture, headings in page.context["drifts"]:
        flat = next(one for one in headings if one.station == "⊗")
        lacking = flat.planned_mm - flat.expected_mm
        assert flat.wale.mm + flat.keel.mm == pytest.approx(lacking)
        assert flat.expected_mm == pytest.approx(review.at("⊗").left_alone_mm, abs=0.01)
        spread = 2 * (flat.wale.give_or_take_mm + flat.keel.give_or_take_mm)
        assert spread == pytest.approx(flat.high_mm - flat.low_mm)
        assert str(picture).count('class="p-fan"') == 2 * 2
    assert "Left alone, 7 is 4.08" in page.content.decode()


def test_closed_hull_is_foretold_nothing(client_of, owner):
    build = tell_story(owner, until=THE_END)

    page = client_of(owner).get(reverse("hull", args=[build.uuid]))

    assert [headings for *_rest, headings in page.context["drifts"]] == [[], []]
    assert "Left alone" not in page.content.decode()


def _drift_words(client_of, owner, *day) -> str:
    """Return what the Hull page of the sample says on an evening, figures and words without their tags."""
    build = tell_story(owner, until=datetime(*day, 23, tzinfo=UTC))
    page = client_of(owner).get(reverse("hull", args=[build.uuid])).content.decode()
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_two_figures_of_one_strake_say_what_each_supposes(client_of, owner):
    """7 February 2026: the plain sum is 4.36, all readings weighed 4.82; 4.50 less 4.36 is 0.14 as shown."""
    page = _drift_words(client_of, owner, 2026, 2, 7)

    said = "Cut as planned, 7 is 4.36 0.14 under 4.50 at ⊗ With the hand as it is: 4.82 95 in 100: 3.55 to 6.08"
    assert said in page
    assert "eft alone" not in page[page.index("each side from outside") :]
    table = page[page.index("at planned cut as planned hand as it is 95 in 100") :]
    assert "⊗ dead flat 4.50 4.36 4.82 3.55 to 6.08" in table


def test_a_run_with_none_left_to_hang_is_told_as_it_was_read(client_of, owner):
    """11 April 2026: starboard has one strake of the run from the keel left and none of the run from the wale."""
    page = _drift_words(client_of, owner, 2026, 4, 11)

    assert "± 0.00" not in page
    assert "4.33 to 4.62 +0.02 as read −0.02 ± 0.14" in page


@pytest.mark.parametrize(("day", "is_read"), [((2026, 2, 7), False), ((2026, 2, 14), True)])
def test_what_nobody_read_is_called_reckoned_in_map_and_wedge(client_of, owner, day, is_read):
    """No gap was ever read until 14 February 2026, when both sides were read at every station."""
    build = tell_story(owner, until=datetime(*day, 23, tzinfo=UTC))

    context = client_of(owner).get(reverse("hull", args=[build.uuid])).context

    drawn, wedges = str(context["map"]), [str(wedge) for _opening, wedge in context["wedges"]]
    assert len(wedges) == 2
    assert (">reckoned<" in drawn, "gap reckoned, not read" in drawn) == (not is_read, not is_read)
    for wedge in wedges:
        assert (">measured<" in wedge, ">reckoned<" in wedge) == (is_read, not is_read)


def test_a_stealer_is_in_no_count_and_named_by_itself(client_of, owner):
    """5 July 2025: port has 13 strakes and stealer 3a, 5 to hang; starboard 11, and 7 beside its own 3a to hang."""
    build = tell_story(owner, until=datetime(2025, 7, 5, 23, tzinfo=UTC))
    browser = client_of(owner)

    def words(name):
        page = browser.get(reverse(name, args=[build.uuid])).content.decode()
        return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))

    hull = words("hull")
    assert "13 of 18 strakes hung, and a stealer" in hull
    assert re.search(r"11 of 18 strakes hung(?!,)", hull)
    # Of the floor belt 3 and 4 are left to starboard, and the stealer between them.
    assert re.search(r"open, 2 to hang Bilge belt open, 5 to hang", hull)
    assert "13 strakes are hung and locked, and a stealer." in words("plan")
    assert re.search(r"Port 5 to hang .* Starboard 7 to hang", words("hours"))
    for name in ("where-i-left-off", "hand-over"):
        assert re.search(r"Port 3a.*5 to hang.* 7 to hang", words(name))


def test_the_table_says_nought_not_hung_and_not_read_apart(client_of, owner):
    """5 July 2025: port 18 is on plan at 8; 9 is not hung; stealer 3a hangs at AH alone and was not measured."""
    build = tell_story(owner, until=datetime(2025, 7, 5, 23, tzinfo=UTC))

    page = client_of(owner).get(reverse("hull", args=[build.uuid])).content.decode()

    table = page[page.index('aria-label="Off plan, port"') :].split("</table>")[0]
    heads = [re.sub(r"<[^>]+>", "", cell) for cell in re.findall(r'<th scope="col"[^>]*>(.*?)</th>', table)]
    rows = {}
    for row in table.split("<tr")[2:]:
        inside = re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.S)
        label, *cells = [" ".join(re.sub(r"<[^>]+>", "", cell).split()) for cell in inside]
        rows[label] = dict(zip(heads[1:], cells, strict=True))
    assert rows["18"]["8"] == "0.00"
    assert rows["18"]["AH"] == "▲ wide 0.01"
    assert {rows["9"][name] for name in heads[1:-1]} == {"·"}
    assert (rows["3a"]["AH"], rows["3a"]["16"]) == ("not read", "·")
    assert all(row.values() for row in rows.values())
