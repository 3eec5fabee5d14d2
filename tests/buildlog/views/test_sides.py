"""Port beside starboard: the largest seam told with its limit, counts that differ, what was known on a day.

Check value: 0.31 mm at H inside strake 10 is worked in the sample's own table of widths, port 18 to 10 less starboard.
"""

import re

import pytest
from django.urls import reverse

from buildlog.actions.readings import record_reading
from buildlog.models import PlanWidth, Reading
from buildlog.sample.story import tell_story
from tests import factories
from tests.hulls import hang, lay_down_hull


@pytest.fixture
def hull(owner):
    return lay_down_hull(owner, sides=("port", "starboard"))


@pytest.fixture
def url(hull):
    return reverse("sides", args=[hull.build.uuid])


def _plain(answer) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode().replace("\N{NO-BREAK SPACE}", " ")))


def _read(hull, label, mm, now):
    """Hang a strake on both sides, port ``mm`` and starboard 5 wide at every station."""
    for key, opening, width in ((label, hull.openings[0], mm), (f"starboard {label}", hull.openings[1], 5.0)):
        for station in hull.stations:
            record_reading(
                hull.build, client_uuid=factories.uuid.uuid4(), now=now, kind=Reading.Kind.WIDTH, opening=opening,
                strake=hull.strakes[key], station=station, value_nm=round(width * 1e6), typed=str(width), unit="mm",
                method=Reading.Method.JAWS, stage=Reading.Stage.CUT, instrument=hull.caliper, person=hull.person,
            )  # fmt: skip
        hang(hull, key, now)


def test_sample_differs_by_031_at_h_after_strake_10_and_is_not_flagged(client_of, owner):
    build = tell_story(owner)

    page = _plain(client_of(owner).get(reverse("sides", args=[build.uuid])))

    assert "The seams differ most inside strake 10 at H, by 0.31 mm, under the limit of 0.5." in page
    assert " over " not in page[page.index("As a table") : page.index("As known on")]
    row = re.search(r" 10 ((?:[■●] [\d.]+ |alike ){11})", page)[1].split()
    # Aft to forward, as the pictures lie: H is the eighth of eleven.
    assert row[14:16] == ["■", "0.31"]


def test_seams_apart_past_the_limit_are_told_and_ringed(hull, client_of, owner, url, clock):
    # Two strakes of 0.45: 0.90 apart, which no doubt of one caliper takes under 0.3 at the ends.
    for label in ("1", "2"):
        _read(hull, label, 5.45, clock())

    answer = client_of(owner).get(url)

    page = _plain(answer)
    assert "Inside strake 2 at" in page
    assert "the seams differ by 0.90 mm, over the limit of" in page
    assert "port has covered more" in page
    assert 'class="p-ring"' in answer.content.decode()
    said = "Strake [12] is cut 0.45 mm wider to port on the whole, over the limit of 0.20."
    assert re.search(said, answer.content.decode())


def test_sides_with_unlike_counts_are_told(hull, client_of, owner, url):
    PlanWidth.objects.filter(plan_strake__strake=hull.strakes["starboard 3"], station=hull.stations[0]).delete()

    page = _plain(client_of(owner).get(url))

    assert "At F port has 5 strakes and starboard 4." in page


def test_stations_with_the_same_unlike_counts_share_one_sentence(hull, client_of, owner, url):
    PlanWidth.objects.filter(plan_strake__strake=hull.strakes["starboard 3"], station__in=hull.stations[:2]).delete()

    page = _plain(client_of(owner).get(url))

    assert "At F and M port has 5 strakes and starboard 4." in page
    assert page.count("strakes and starboard") == 1


def test_nothing_hung_and_a_hull_of_one_side_are_said(hull, client_of, owner, url):
    assert "nothing to compare" in _plain(client_of(owner).get(url))
    one = lay_down_hull(owner, name="One side")

    page = _plain(client_of(owner).get(reverse("sides", args=[one.build.uuid])))

    assert "There are not two planked sides" in page.replace("planned", "planked")


def test_page_shows_what_was_known_on_a_day(hull, client_of, owner, url, clock):
    _read(hull, "1", 5.05, clock())
    browser = client_of(owner)

    assert "by 0.05 mm" in _plain(browser.get(url, {"on": "2026-03-14"}))
    assert "nothing to compare" in _plain(browser.get(url, {"on": "2026-03-13"}))


def test_pictures_say_their_finding_and_each_strake_has_a_row(hull, client_of, owner, url, clock):
    _read(hull, "1", 5.05, clock())

    page = client_of(owner).get(url).content.decode()

    labels = re.findall(r'role="img" aria-label="([^"]+)"', page)
    assert any("The seams differ most inside strake 1" in label for label in labels)
    assert any("limit" in label and "wider to port" in label for label in labels)


def test_queries_do_not_grow_with_strakes(hull, client_of, owner, url, clock, django_assert_max_num_queries):
    browser = client_of(owner)
    _read(hull, "1", 5.05, clock())
    browser.get(url)
    with django_assert_max_num_queries(100) as few:
        browser.get(url)
    before = len(few)
    _read(hull, "2", 5.05, clock())
    browser.get(url)

    with django_assert_max_num_queries(before + 2):
        browser.get(url)


def test_apart_is_the_difference_of_the_two_figures_beside_it(client_of, owner):
    build = tell_story(owner)

    page = client_of(owner).get(reverse("sides", args=[build.uuid])).content.decode()

    table = page[page.index('aria-label="Strakes, port beside starboard"') :].split("</table>")[0]
    signs = {"▲": 1, "▼": -1, "■": 1, "●": -1}
    rows = re.findall(r"<tr><th[^>]*>(.*?)</th>(.*?)</tr>", table.split("<tbody>")[1])
    assert len(rows) == 13
    for label, cells in rows:
        port, starboard, apart, _limit = (
            re.sub(r"<[^>]+>", "", cell).replace("\N{NO-BREAK SPACE}", " ")
            for cell in re.findall(r"<td[^>]*>(.*?)</td>", cells)
        )
        port, starboard, apart = (
            0 if words in ("alike", "0.00") else signs[words[0]] * round(float(words[1:]) * 100)
            for words in (port, starboard, apart)
        )
        assert port - starboard == apart, label
