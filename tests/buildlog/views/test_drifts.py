"""Drift by strake, belt and run: what is shown adds up as shown."""

import re
from datetime import UTC, datetime

from django.urls import reverse

from buildlog.drawn.drift_tables import drift_of
from buildlog.drawn.hulls import StandingHull
from buildlog.sample.story import tell_story


def test_rows_add_up_to_belts_as_shown(owner):
    hull = StandingHull(tell_story(owner))

    for opening in hull.openings_here():
        _stations, runs = drift_of(hull, opening, hull.review(opening))
        assert [run.run for run in runs] == ["wale", "keel"]
        for belt in (belt for run in runs for belt in run.belts):
            for index, together in enumerate(belt.together):
                rows = [cells[index].hundredths or 0 for _label, cells in belt.rows]
                assert sum(rows) == together.hundredths


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
    assert "Side belt" not in body


def test_drift_of_a_hull_without_readings_says_so(hull, owner, client_of):
    body = client_of(owner).get(reverse("drift-list", args=[hull.build.uuid])).content.decode()

    assert "Nothing was hung and read yet." in body
