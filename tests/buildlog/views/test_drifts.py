"""Drift by strake, belt and run: what is shown adds up as shown."""

import re
from datetime import UTC, datetime

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from buildlog.drawn.drift_tables import drift_of
from buildlog.drawn.hulls import StandingHull
from buildlog.drawn.plank_maps import deviations
from buildlog.models import PlanBelt
from buildlog.sample.story import tell_story


def test_every_figure_is_the_exact_one_rounded_by_itself_and_worst_goes_by_the_exact_ones(owner):
    hull = StandingHull(tell_story(owner))

    for opening in hull.openings_here():
        off = deviations(hull.review(opening))
        stations, runs = drift_of(hull, opening, hull.review(opening))
        names = [station.station for station in stations]
        assert [run.run for run in runs] == ["wale", "keel"]
        for belt in (belt for run in runs for belt in run.belts):
            for row in belt.rows:
                exact = {name: cell.nm for name, cell in zip(names, row.cells, strict=True) if cell.read and cell.nm}
                own = {name: round(mm * 1e6) for name, mm in off.get(row.label, {}).items()}
                assert exact == {name: nm for name, nm in own.items() if nm}
                assert row.worst == (max(exact, key=lambda name: abs(exact[name])) if exact else "")
            for index, together in enumerate(belt.together):
                rows = [row.cells[index].nm or 0 for row in belt.rows]
                assert sum(rows) == pytest.approx(together.nm, abs=len(rows))


def test_a_strake_reads_on_the_drift_page_as_on_its_own(owner, client_of):
    """Port 3 is narrowest at dead flat, by 0.0925 beside 0.0845 at Q; port 13 is 0.034 wide at 12."""
    build = tell_story(owner, until=datetime(2026, 2, 7, 23, tzinfo=UTC))

    page = client_of(owner).get(reverse("drift-list", args=[build.uuid])).content.decode()

    port = page.split("Port, from the wale")[-1].split("Starboard, from the wale")[0]
    heads = [strip_tags(cell) for cell in re.findall(r"<th scope=\"col\">(.*?)</th>", port)]
    rows = {}
    for cells in re.findall(r"<tr><th scope=\"row\">(.*?)</tr>", port):
        label, *figures = [strip_tags(cell).strip() for cell in re.split(r"</t[hd]><td[^>]*>", cells)]
        rows[label] = figures
    assert rows["3"][-1].removesuffix("</td>") == "⊗dead flat"
    assert rows["13"][heads.index("12") - 1] == "▲ wide 0.03"
    assert "Each figure is rounded by itself" in page


def test_the_side_belt_stands_where_the_notes_say(owner, client_of):
    build = tell_story(owner)

    body = client_of(owner).get(reverse("drift-list", args=[build.uuid])).content.decode()

    assert re.search(r"Side belt</span><span>wide by 0\.34 at M", body)
    assert "not read" in body


def test_drift_as_known_on_a_day_knows_no_later_belt(owner, client_of):
    build = tell_story(owner, until=datetime(2025, 4, 20, tzinfo=UTC))
    url = reverse("drift-list", args=[build.uuid])

    body = client_of(owner).get(url, {"on": "2025-03-16"}).content.decode()

    assert "Diminishing belt" in body
    assert "<span>Side belt</span>" not in body


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
@pytest.mark.parametrize("name", ["drift-list", "hull", "sides", "girth-list"])
def test_a_day_at_the_end_of_the_calendar_is_refused_in_a_sentence(hull, owner, client_of, name, day):
    answer = client_of(owner).get(reverse(name, args=[hull.build.uuid]), {"on": day})

    assert answer.status_code == 200
    assert "As known on: write a day from 1900 to 2200" in answer.content.decode()


def test_drift_of_a_hull_without_readings_says_so(hull, owner, client_of):
    body = client_of(owner).get(reverse("drift-list", args=[hull.build.uuid])).content.decode()

    assert "Nothing was hung and read yet." in body


def test_what_is_carried_from_belt_to_belt_names_the_next_belt_and_the_worst_station(owner, client_of):
    """On 12 February 2026: the wale run is 0.02 over at M after its first belt, 0.34 more after the side's."""
    build = tell_story(owner)
    hull = StandingHull(build)
    port = next(opening for opening in hull.openings_here() if opening.side == "port")

    stations, (wale, keel) = drift_of(hull, port, hull.review(port))
    first, second = wale.belts
    m = next(index for index, station in enumerate(stations) if station.station == "M")

    assert [(belt.name, belt.into) for belt in (*wale.belts, *keel.belts)] == [
        ("Diminishing", "Side"), ("Side", "Bilge"), ("Floor", "Bilge"),
    ]  # fmt: skip
    assert (first.carried[m].hundredths, second.together[m].hundredths, second.carried[m].hundredths) == (2, 34, 37)
    assert (second.worst_at, second.carried_at) == ("M", "M")
    page = strip_tags(client_of(owner).get(reverse("drift-list", args=[build.uuid])).content.decode())
    assert "The run from the walewide by 0.37 at M, carried into the Bilge belt" in page
    # Carried is the exact sum rounded once: it never stands further from its parts than they are rounded by.
    for one in (wale, keel):
        for index, cell in enumerate(one.carried):
            parts = sum(belt.together[index].hundredths for belt in one.belts)
            assert abs(cell.hundredths - parts) <= len(one.belts)


def test_belts_are_drawn_as_dots(client_of, owner):
    build = tell_story(owner)

    page = client_of(owner).get(reverse("drift-list", args=[build.uuid])).content.decode()

    assert "habit or luck" in page
    assert "Side: wide by 0.34 at M, together." in page


def test_a_belt_held_at_its_line_carries_nothing_on(client_of, owner):
    """24 May 2025: the side belt hangs whole; held, what the run has added by then goes into no other belt."""
    build = tell_story(owner, until=datetime(2025, 5, 24, 23, tzinfo=UTC))
    PlanBelt.objects.filter(opening__build=build, opening__side="port", name="Side").update(at_line="hold")

    page = strip_tags(client_of(owner).get(reverse("drift-list", args=[build.uuid])).content.decode())

    port, starboard = page.split("Starboard", 1)
    assert "The run from the walewide by 0.37 at M, held at its line" in port
    assert "carried into the Bilge belt" not in port
    assert "carried into the Bilge belt" in starboard
    table = page[page.index("Port, from the wale") : page.index("Starboard, from the wale")]
    assert "into Side" in table
    assert "into Bilge" not in table
    assert "so far, held at its line" in table
