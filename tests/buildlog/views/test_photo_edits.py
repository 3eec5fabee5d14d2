"""Pages that turn, cut and draw: with a script or by one tap on the picture itself."""

import pytest
from django.urls import reverse

from buildlog.models import Photo
from tests import factories


@pytest.fixture
def photo(hull):
    return factories.PhotoFactory(build=hull.build, state="ready", width=1600, height=1200)


def url(name, photo):
    return reverse(name, args=[photo.build.uuid, photo.uuid])


def test_turn_is_kept_and_made_anew(photo, client_of, helper):
    response = client_of(helper).post(url("photo-turn", photo), {"degrees": "270"})

    photo.refresh_from_db()
    assert response.status_code == 302
    assert (photo.edits, photo.state) == ({"turn": 270}, "received")


@pytest.mark.parametrize("degrees", ["45", "", "x", "360"])
def test_turn_by_no_quarter_changes_nothing(photo, client_of, owner, degrees):
    client_of(owner).post(url("photo-turn", photo), {"degrees": degrees})

    assert Photo.objects.get().edits == {}


def test_cut_is_given_in_hundredths_of_what_is_shown(photo, client_of, owner):
    Photo.objects.update(edits={"crop": [0.5, 0, 1, 1], "turn": 90})

    client_of(owner).post(url("photo-crop", photo), {"left": "0", "top": "50", "right": "100", "bottom": "100"})

    assert Photo.objects.get().edits["crop"] == [0.75, 0, 1, 1]


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"left": "60", "right": "62"}, "at least five more than where it begins"),
        ({"left": "-1"}, "from 0 to 100 in a hundred"),
        ({"left": "nan"}, "a number from 0 to 100"),
        ({"left": "half"}, "a number from 0 to 100"),
        ({"bottom": ""}, "a number from 0 to 100"),
    ],
)
def test_cut_that_cannot_be_keeps_what_was_typed(photo, client_of, owner, fields, sentence):
    typed = {"left": "0", "top": "10", "right": "100", "bottom": "100"} | fields

    response = client_of(owner).post(url("photo-crop", photo), typed)

    assert response.status_code == 200
    assert sentence in response.content.decode()
    assert 'value="10"' in response.content.decode()
    assert Photo.objects.get().edits == {}


def test_back_to_the_original(photo, client_of, owner):
    Photo.objects.update(edits={"turn": 90})

    client_of(owner).post(url("photo-as-sent", photo))

    assert Photo.objects.get().edits == {}


def test_one_tap_on_the_picture_draws_a_number_beside_the_thing(photo, client_of, helper):
    """The picture is shown 280 by 210; a browser without a script sends the tap in these."""
    page = client_of(helper).get(url("photo-marks", photo)).content.decode()
    assert 'type="image"' in page
    assert 'width="280" height="210"' in page

    sent = {"kind": "number", "text": "free edge", "at.x": "70", "at.y": "105"}
    client_of(helper).post(url("photo-marks", photo), sent)

    mark = Photo.objects.get().drawn[0]
    assert (mark["n"], mark["to_x"], mark["to_y"], mark["text"]) == (1, 0.25, 0.5, "free edge")
    assert 0 <= mark["x"] <= 1
    assert mark["x"] != mark["to_x"]


def test_marks_keep_the_place_of_a_picture_that_has_not_come(photo, client_of, helper):
    address = reverse("photo-detail", args=[photo.build.uuid, photo.uuid])
    bare = client_of(helper).get(address).content.decode()
    sent = {"kind": "number", "text": "free edge", "at.x": "70", "at.y": "105"}
    client_of(helper).post(url("photo-marks", photo), sent)
    photo.refresh_from_db()

    page = client_of(helper).get(address).content.decode()

    space = f'<svg class="photo-space" viewBox="0 0 {photo.width} {photo.height}" aria-hidden="true"></svg>'
    assert space + '<div class="cuts">' in page
    assert "photo-space" not in bare


def test_stroke_of_a_script_says_where_the_arrow_stands(photo, client_of, owner):
    sent = {"kind": "arrow", "text": "", "x": "0.1", "y": "0.2", "to_x": "0.3", "to_y": "0.4"}

    client_of(owner).post(url("photo-marks", photo), sent)

    assert Photo.objects.get().drawn == [
        {"kind": "arrow", "n": 1, "text": "", "x": 0.1, "y": 0.2, "to_x": 0.3, "to_y": 0.4}
    ]


def test_tap_on_a_cut_picture_is_kept_in_the_originals_places(photo, client_of, owner):
    Photo.objects.update(edits={"crop": [0.5, 0.5, 1, 1]})

    client_of(owner).post(url("photo-marks", photo), {"kind": "ring", "to_x": "0.5", "to_y": "0.5"})

    mark = Photo.objects.get().drawn[0]
    assert (mark["to_x"], mark["to_y"]) == (0.75, 0.75)


@pytest.mark.parametrize(
    "sent",
    [{"kind": "number", "to_x": "2", "to_y": "0"}, {"kind": "flag", "to_x": "0", "to_y": "0"},
     {"kind": "number", "to_x": "nan", "to_y": "0"}, {"kind": "number", "at.x": "x", "at.y": "1"}, {"kind": "number"},
     {"kind": "number", "text": "Enter was pressed", "at.x": "0", "at.y": "0"}],
)  # fmt: skip
def test_mark_that_says_no_place_draws_nothing(photo, client_of, owner, sent):
    response = client_of(owner).post(url("photo-marks", photo), sent)

    assert response.status_code in (200, 302)
    assert Photo.objects.get().drawn == []


def test_words_are_changed_and_a_mark_is_taken_off_together(photo, client_of, owner):
    marks = [{"kind": "number", "n": n, "x": 0, "y": 0, "to_x": 0.5, "to_y": 0.5, "text": "old"} for n in (1, 2)]
    Photo.objects.update(drawn=marks)
    sent = {"kind": "number", "text_1": "rabbet", "text_2": "old", "take_off": "2", "save": "1"}

    client_of(owner).post(url("photo-marks", photo), sent)

    assert [(mark["n"], mark["text"]) for mark in Photo.objects.get().drawn] == [(1, "rabbet")]


@pytest.mark.parametrize("name", ["photo-turn", "photo-crop", "photo-as-sent", "photo-marks"])
def test_reader_may_not_and_stranger_finds_nothing(photo, client_of, reader, stranger, name):
    assert client_of(reader).post(url(name, photo)).status_code == 403
    assert client_of(stranger).post(url(name, photo)).status_code == 404


def test_photograph_of_another_build_is_not_found(photo, client_of, stranger):
    from tests.hulls import lay_down_hull

    other = lay_down_hull(stranger, name="Other")
    address = reverse("photo-crop", args=[other.build.uuid, photo.uuid])

    assert client_of(stranger).get(address).status_code == 404
