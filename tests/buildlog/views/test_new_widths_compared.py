"""New widths beside the other ways to go on: left alone, another count, no widths that fit."""

import pytest
from django.urls import reverse

from buildlog.sample.story import tell_story
from tests.buildlog.views.test_new_widths import put, read_gap, url, widths_now


def test_ways_to_go_on_stand_side_by_side(client_of, owner):
    """Even, 4.41 at dead flat and left alone 4.08: the sample's own gap table, worked by hand when it was made."""
    build = tell_story(owner)
    opening = build.openings.get(side="port")

    page = client_of(owner).get(reverse("new-widths", args=[build.uuid, opening.uuid]))
    offers = {offer.mode: offer for offer in page.context["offers"] if offer.left is None}

    assert list(offers) == ["leave", "even", "by_width", "hidden_first", "fair"]
    assert offers["leave"].closing_flat.nm == pytest.approx(4_080_000, abs=15_000)
    assert (offers["leave"].closing.station.name, offers["leave"].changed) == ("D", 0)
    flat = offers["even"].closing_flat
    assert flat.nm == pytest.approx(4_410_000, abs=10_000)
    for width in offers["fair"].widths[flat.station].values():
        assert width == pytest.approx(4_410_000, abs=50_000)
    for offer in offers.values():
        for station, widths in offer.widths.items():
            assert sum(widths.values()) == sum(offers["even"].widths[station].values())
    assert offers["even"].step.nm < offers["leave"].step.nm


def test_a_strake_fewer_and_a_strake_more_stand_beside_them_with_their_steps(client_of, owner):
    """At dead flat 22.16 less the glue, 5 or 7 seams of 0.014, over 4 and over 6: 5.52 and 3.68, by hand."""
    build = tell_story(owner)
    opening = build.openings.get(side="port")
    where = reverse("new-widths", args=[build.uuid, opening.uuid])

    page = client_of(owner).get(where)
    fewer, more = [offer for offer in page.context["offers"] if offer.left]

    assert (fewer.left, more.left) == (4, 6)
    assert fewer.closing_flat.nm == pytest.approx(5_520_000, abs=10_000)
    assert more.closing_flat.nm == pytest.approx(3_680_000, abs=10_000)
    assert fewer.step.nm > 700_000
    assert more.step.nm > 700_000
    assert 'href="?left=4"' in page.content.decode()
    assert not [offer for offer in client_of(owner).get(where + "?left=4").context["offers"] if offer.left]


def test_widths_by_width_come_into_force_in_the_way_chosen(client_of, hull, owner, clock):
    hull.revision.strakes.get(label="1").widths.update(width_nm=6_000_000)
    read_gap(hull, clock, nm=25_480_000)

    put(client_of(owner), hull, mode="by_width")

    widths = widths_now(hull)
    # 25.48 / 26 = 0.98 of each: 5.88 and 4.90, by hand.
    assert widths["1"] == pytest.approx(5_880_000, abs=1)
    assert widths["2"] == pytest.approx(4_900_000, abs=1)
    assert sum(widths.values()) == 25_480_000


def test_recut_is_drawn_before_and_after_at_the_worst_station_and_at_the_one_asked_for(client_of, owner):
    """At D the step beside the closing strake left alone is 0.49; recut the largest is 0.15, from 10 to 9."""
    build = tell_story(owner)
    where = reverse("new-widths", args=[build.uuid, build.openings.get(side="port").uuid])
    browser = client_of(owner)

    worst = browser.get(where)
    asked = browser.get(where + "?mode=fair&at=M")

    station, _picture, sentence = worst.context["steps"]
    assert station.name == "D"
    assert sentence == "At D the largest step off the plan is 0.15 recut, 0.49 left alone."
    assert worst.content.decode().count(f'aria-label="{sentence}"') == 3
    assert asked.context["steps"][0].name == "M"


def test_a_gap_that_no_widths_fill_says_by_how_much_and_which_number_would(client_of, hull, owner, clock):
    """Five strakes of 5.00, at their narrowest 2.50: 12.50 needed, 10.00 there. Two would be 5.00 each, by hand."""
    read_gap(hull, clock, nm=10_000_000)

    page = client_of(owner).get(url("new-widths", hull))

    told = page.context["no_fit"]
    assert told.everywhere
    assert [(one.station.name, one.is_sure) for one in told.tight] == [("F", True), ("M", True), ("A", True)]
    assert [one.nm for one in told.tight] == pytest.approx([2_500_000] * 3, abs=10_000)
    assert told.wide == ()
    assert told.counts[0].strakes_left == 2
    body = page.content.decode()
    assert "No widths inside your limits fill this gap." in body
    assert 'href="?left=2"' in body


def test_a_gap_too_wide_at_one_place_alone_asks_for_a_stealer(client_of, hull, owner, clock):
    """At their widest five strakes of 5.00 take 37.50; 42.00 leaves 4.50 open. No number does both places."""
    read_gap(hull, clock, nm=14_000_000, stations=hull.stations[:2])
    read_gap(hull, clock, nm=42_000_000, stations=hull.stations[2:])

    page = client_of(owner).get(url("new-widths", hull))

    told = page.context["no_fit"]
    assert [one.station.name for one in told.wide] == ["A"]
    assert told.wide[0].nm == pytest.approx(4_500_000, abs=10_000)
    assert told.counts == ()
    assert "Let a stealer in at the wide places." in page.content.decode()


def test_a_gap_that_can_be_filled_says_nothing_of_it(client_of, hull, owner, clock):
    read_gap(hull, clock, nm=24_500_000)

    page = client_of(owner).get(url("new-widths", hull))

    assert page.context["no_fit"] is None
    assert "No widths inside your limits" not in page.content.decode()
