"""Which face: the setting kept with its opening, and the difference in mm at the widest station.

Check value: a plank 4.76 wide and 1.32 thick on a radius of 30 mm has an outer face 4.76 x 1.32 / 30 = 0.209 mm,
4.4 %, wider than its inner one (by hand).
"""

import pytest
from django.urls import reverse

from buildlog.forms.faces import face_difference_mm
from buildlog.models import Event, PlanWidth


@pytest.fixture
def url(hull):
    return reverse("faces", args=[hull.build.uuid, hull.opening.uuid])


def test_plank_of_the_bilge_is_a_fifth_of_a_millimetre_wider_outside():
    assert face_difference_mm(4.76, 1.32, 30.0) == pytest.approx(0.2094, abs=0.0001)


def test_difference_is_shown_at_the_widest_station_on_the_radius_asked_for(hull, client_of, owner, url):
    PlanWidth.objects.update(thickness_nm=1_200_000)
    browser = client_of(owner)

    page, rounder = browser.get(url).content.decode(), browser.get(url, {"bilge": "60"}).content.decode()

    # 5.00 x 1.20 / 30 = 0.20, 4.0 %; five strakes 1.00. On 60 mm half of it (by hand).
    assert "the other face is 0.20 mm off, 4.0 %; over 5 strakes, 1.00 mm." in page
    assert "the other face is 0.10 mm off, 2.0 %; over 5 strakes, 0.50 mm." in rounder


def test_without_a_thickness_no_difference_is_made_up(client_of, owner, url):
    assert "No thickness is planned" in client_of(owner).get(url).content.decode()


def test_setting_is_kept_told_and_shown_beside_the_girths(hull, client_of, owner, url):
    browser = client_of(owner)
    serial = hull.opening.serial

    answer = browser.post(url, {"girth_taken": "over_planking", "widths_taken": "after_bevel", "seen": "1"})

    hull.opening.refresh_from_db()
    assert (hull.opening.girth_taken, hull.opening.widths_taken) == ("over_planking", "after_bevel")
    assert hull.opening.serial > serial
    assert Event.objects.filter(verb="set faces").count() == 1
    page = browser.get(answer.url).content.decode()
    assert "girths over the planking" in page
    assert "widths after bevelling" in page


def test_second_of_two_people_is_told_and_changes_nothing(hull, client_of, owner, url):
    browser = client_of(owner)
    browser.post(url, {"girth_taken": "over_planking", "widths_taken": "after_bevel", "seen": "1"})

    answer = browser.post(url, {"girth_taken": "bare_frames", "widths_taken": "after_bevel", "seen": "1"})

    assert answer.status_code == 409
    assert "Somebody else changed this" in answer.content.decode()
    hull.opening.refresh_from_db()
    assert hull.opening.girth_taken == "over_planking"


@pytest.mark.parametrize("typed", [{}, {"girth_taken": "inside", "widths_taken": "after_bevel", "seen": "1"}])
def test_odd_answer_is_refused_and_nothing_changes(hull, client_of, owner, url, typed):
    answer = client_of(owner).post(url, typed)

    hull.opening.refresh_from_db()
    assert answer.status_code == 200
    assert hull.opening.version == 1
