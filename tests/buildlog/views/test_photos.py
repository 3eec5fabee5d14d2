"""Who may have which picture, and what its answer lets a browser do."""

import re
import uuid
from datetime import UTC, datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from buildlog.actions import photos
from buildlog.jobs import worker
from buildlog.models import Membership, Photo
from buildlog.photos import store
from tests import factories
from tests.buildlog.photos.file_parts import full_metadata_jpeg, picture

NOW = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)
CONTENT = full_metadata_jpeg(6, image=picture(800, 600))
SIZES = ("large", "middle", "small")


@pytest.fixture(autouse=True)
def own_root(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"


@pytest.fixture
def received(hull):
    file = SimpleUploadedFile("<b>.jpg", CONTENT, content_type="text/html")
    return photos.receive_photo(hull.build, hull.person, client_uuid=uuid.uuid4(), file=file, now=NOW)[0]


@pytest.fixture
def photo(received):
    worker.run_pending()
    received.refresh_from_db()
    return received


def url_of(photo, size, build=None):
    return reverse("photo-serve", args=[(build or photo.build).uuid, photo.uuid, size])


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("role", ["owner", "builder", "helper", "reader"])
def test_everybody_of_the_build_sees_the_renditions(photo, client_of, request, role, size):
    response = client_of(request.getfixturevalue(role)).get(url_of(photo, size))

    assert response.status_code == 200
    assert response.content == store.path_of(photo.renditions.get(size=size).key).read_bytes()


@pytest.mark.parametrize("size", [*SIZES, "original"])
def test_stranger_is_told_that_there_is_nothing(photo, client_of, stranger, size):
    assert client_of(stranger).get(url_of(photo, size)).status_code == 404


@pytest.mark.parametrize("size", [*SIZES, "original"])
def test_nobody_signed_out_gets_a_byte(photo, client_of, size):
    response = client_of(None).get(url_of(photo, size))

    assert response.status_code == 302
    assert response.content == b""


def test_original_goes_to_the_owner_alone_as_a_file(photo, client_of, owner):
    response = client_of(owner).get(url_of(photo, "original"))

    assert b"".join(response.streaming_content) == CONTENT
    assert response["Content-Disposition"] == f'attachment; filename="{photo.uuid}.jpg"'


@pytest.mark.parametrize("role", ["builder", "helper", "reader"])
def test_original_with_the_place_in_it_is_kept_from_the_others(photo, client_of, request, role):
    assert client_of(request.getfixturevalue(role)).get(url_of(photo, "original")).status_code == 403


@pytest.mark.parametrize("size", [*SIZES, "original"])
def test_answer_lets_a_browser_do_nothing_but_show_it(photo, client_of, owner, size):
    response = client_of(owner).get(url_of(photo, size))

    response.close()
    told = {name: response[name] for name in GUARDS}
    assert told == GUARDS
    assert "b>" not in response["Content-Disposition"]


GUARDS = {
    "Content-Type": "image/jpeg",
    "X-Content-Type-Options": "nosniff",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "private, no-cache",
}


def test_browser_that_has_it_is_told_so_and_still_guarded(photo, client_of, owner):
    browser = client_of(owner)
    tag = browser.get(url_of(photo, "small"))["ETag"]

    again = browser.get(url_of(photo, "small"), headers={"If-None-Match": tag})

    assert (again.status_code, again.content) == (304, b"")
    assert again["Cache-Control"] == "private, no-cache"


def test_right_taken_back_ends_with_the_next_request_though_the_browser_has_it(photo, client_of, reader):
    browser = client_of(reader)
    tag = browser.get(url_of(photo, "small"))["ETag"]
    Membership.objects.filter(account=reader).delete()

    again = browser.get(url_of(photo, "small"), headers={"If-None-Match": tag})

    assert again.status_code == 404


def test_photo_not_ready_is_not_shown(received, client_of, owner):
    assert client_of(owner).get(url_of(received, "small")).status_code == 404
    Photo.objects.update(state="refused")
    assert client_of(owner).get(url_of(received, "small")).status_code == 404


def test_photo_of_another_build_is_not_found_through_ones_own(photo, client_of, builder):
    from tests.hulls import lay_down_hull

    own = lay_down_hull(builder, name="Another hull").build

    assert client_of(builder).get(url_of(photo, "small", build=own)).status_code == 404


def test_photo_taken_out_is_gone_for_readers(photo, client_of, owner, reader):
    Photo.objects.update(taken_out_at=NOW)

    assert client_of(reader).get(url_of(photo, "small")).status_code == 404
    assert client_of(owner).get(url_of(photo, "small")).status_code == 200


@pytest.mark.parametrize("size", ["huge", "large.jpg", "..", "LARGE", "1920"])
def test_size_that_is_none_of_ours_is_not_found(photo, client_of, owner, size):
    assert client_of(owner).get(url_of(photo, size)).status_code == 404


def test_file_that_went_missing_is_not_found_and_nothing_breaks(photo, client_of, owner):
    store.path_of(photo.renditions.get(size="small").key).unlink()

    assert client_of(owner).get(url_of(photo, "small")).status_code == 404


@pytest.mark.parametrize("method", ["post", "put", "delete", "patch"])
def test_photo_is_only_ever_asked_for(photo, client_of, owner, method):
    assert getattr(client_of(owner), method)(url_of(photo, "small")).status_code == 405


# The pages.


def page_of(name, build, *more):
    return reverse(name, args=[build.uuid, *more])


def plain_photo(hull, **fields):
    return factories.PhotoFactory(build=hull.build, state="ready", width=1600, height=1200, **fields)


def test_tray_comes_first_while_something_waits_in_it(hull, client_of, helper):
    waiting, labelled = plain_photo(hull), plain_photo(hull, caption="clamped")
    marked = plain_photo(hull)
    marked.marks.create(strake=hull.strakes["1"], side="port")

    page = client_of(helper).get(page_of("photo-list", hull.build)).content.decode()

    assert f'value="{waiting.uuid}"' in page
    assert str(labelled.uuid) not in page
    assert str(marked.uuid) not in page
    assert "Without a label: 1" in page


def test_sessions_of_one_day_are_told_apart_and_a_half_model_has_one_side(hull, client_of, owner):
    """The hull of the fixture is port alone."""
    for hours in (0, 3):
        began = datetime(2026, 3, 14, 9 + hours, 5, tzinfo=UTC)
        factories.SessionFactory(build=hull.build, by=hull.person, opened_at=began)
    hull.build.time_zone = "Europe/Oslo"
    hull.build.save()

    form = client_of(owner).get(page_of("photo-detail", hull.build, plain_photo(hull).uuid)).context["form"]

    assert [words for value, words in form.fields["session"].choices if value] == [
        "14 March 2026, 13:05, owner", "14 March 2026, 10:05, owner",
    ]  # fmt: skip
    assert [value for value, _words in form.fields["side"].choices] == ["", "port"]


def test_a_side_that_stands_on_a_photograph_can_be_kept(hull, client_of, owner):
    photo = plain_photo(hull)
    photo.marks.create(side="starboard")

    form = client_of(owner).get(page_of("photo-detail", hull.build, photo.uuid)).context["form"]

    assert [value for value, _words in form.fields["side"].choices] == ["", "port", "starboard"]


def test_all_of_a_page_are_ticked_without_a_script(hull, client_of, owner):
    for _ in range(3):
        plain_photo(hull)

    page = client_of(owner).get(page_of("photo-list", hull.build), {"tick": "all"}).content.decode()

    assert len(re.findall(r'name="photo" value="[^"]+" checked', page)) == 3


def test_twenty_are_labelled_by_one_form(hull, client_of, helper):
    session = factories.SessionFactory(build=hull.build)
    photos = [plain_photo(hull) for _ in range(20)]
    sent = {
        "photo": [one.uuid for one in photos], "strakes": hull.strakes["2"].uuid, "session": session.uuid,
        "stations": [station.uuid for station in hull.stations[:2]], "side": "", "series": "", "caption": " clamped ",
    }  # fmt: skip

    said = client_of(helper).post(page_of("photo-label", hull.build), sent, follow=True).content.decode()

    assert "20 photographs labelled." in said
    assert set(Photo.objects.values_list("alt", flat=True)) == {"port strake 2, station F to M, clamped"}
    assert session.photos.count() == 20


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"caption": "clamped", "photo": []}, "No photograph is ticked"),
        ({"caption": ""}, "Choose a strake, a station, a session or a few words"),
        ({"caption": "x" * 301}, "At most 300 letters; this has 301."),
        ({"caption": "kept", "strakes": str(uuid.uuid4())}, "choose one of those offered"),
        ({"caption": "kept", "session": "nonsense"}, "choose one of those offered"),
    ],
)
def test_label_that_cannot_be_keeps_what_was_typed_and_ticked(hull, client_of, owner, fields, sentence):
    one = plain_photo(hull)

    response = client_of(owner).post(page_of("photo-label", hull.build), {"photo": [one.uuid]} | fields)

    page = response.content.decode()
    assert response.status_code == 200
    assert sentence in page
    assert fields["caption"] in page
    assert (f'value="{one.uuid}" checked' in page) == ("photo" not in fields)
    assert Photo.objects.get().caption == ""


def test_label_reaches_no_photograph_of_another_build(hull, client_of, owner):
    other = factories.PhotoFactory(state="ready")

    client_of(owner).post(page_of("photo-label", hull.build), {"photo": [other.uuid], "caption": "mine"})

    assert Photo.objects.get().caption == ""


def test_detail_offers_words_from_the_marks_and_renews_them(hull, client_of, helper):
    one = plain_photo(hull, caption="clamped")
    one.marks.create(strake=hull.strakes["2"], station=hull.stations[0], side="port")
    address = page_of("photo-detail", hull.build, one.uuid)
    offered = "port strake 2, station F, clamped"
    assert f'name="alt" value="{offered}"' in client_of(helper).get(address).content.decode()
    sent = {
        "version": 1, "caption": "glued", "strakes": [hull.strakes["3"].uuid], "stations": [], "side": "",
        "session": "", "series": "", "alt": offered, "offered": offered,
    }  # fmt: skip

    client_of(helper).post(address, sent)

    one.refresh_from_db()
    assert (one.caption, one.alt) == ("glued", "port strake 3, glued")


def test_detail_keeps_words_that_somebody_wrote(hull, client_of, owner):
    one = plain_photo(hull)
    sent = {"version": 1, "caption": "", "side": "port", "alt": "The whole hull from above", "offered": ""}

    client_of(owner).post(page_of("photo-detail", hull.build, one.uuid), sent)

    one.refresh_from_db()
    assert one.alt == "The whole hull from above"
    assert one.marks.get().side == "port"


def test_two_people_at_once_both_keep_their_words_on_screen(hull, client_of, owner, helper):
    one = plain_photo(hull)
    address = page_of("photo-detail", hull.build, one.uuid)
    client_of(helper).post(address, {"version": 1, "caption": "theirs", "side": ""})

    response = client_of(owner).post(address, {"version": 1, "caption": "mine", "side": ""})

    page = response.content.decode()
    assert response.status_code == 409
    assert 'value="mine"' in page
    assert "It says now: theirs." in page
    assert 'name="version" value="2"' in page


def test_reader_sees_a_photograph_and_no_form(hull, client_of, reader):
    one = plain_photo(hull, caption="clamped")

    page = client_of(reader).get(page_of("photo-detail", hull.build, one.uuid)).content.decode()

    assert "clamped" in page
    assert "<form" not in page.partition('id="content"')[2]


def test_photograph_taken_out_is_kept_hidden_and_put_back(hull, client_of, builder, helper):
    one = plain_photo(hull, caption="blurred")
    address = page_of("photo-detail", hull.build, one.uuid)
    assert client_of(helper).post(page_of("photo-take-out", hull.build, one.uuid)).status_code == 403
    client_of(builder).post(page_of("photo-take-out", hull.build, one.uuid))

    assert client_of(helper).get(address).status_code == 404
    assert "blurred" not in client_of(helper).get(page_of("photo-list", hull.build), {"show": "all"}).content.decode()
    assert client_of(helper).get(page_of("photo-list", hull.build), {"show": "out"}).status_code == 403
    assert "blurred" in client_of(builder).get(page_of("photo-list", hull.build), {"show": "out"}).content.decode()
    client_of(builder).post(page_of("photo-put-back", hull.build, one.uuid))
    assert client_of(helper).get(address).status_code == 200


def test_owner_alone_shows_one_photograph_to_the_club(hull, client_of, owner, builder):
    session = factories.SessionFactory(build=hull.build)
    one = plain_photo(hull, session=session)
    address = page_of("photo-share", hull.build, one.uuid)
    assert client_of(builder).post(address, {"shared": "yes"}).status_code == 403

    said = client_of(owner).post(address, {"shared": "yes"}, follow=True).content.decode()

    assert Photo.objects.get().shared is True
    assert "as soon as its session is shared too" in said
    client_of(owner).post(address, {"shared": "no"})
    assert Photo.objects.get().shared is False


@pytest.mark.parametrize("name", ["photo-list", "photo-detail"])
def test_stranger_finds_no_page(hull, client_of, stranger, name):
    more = [plain_photo(hull).uuid] if name == "photo-detail" else []

    assert client_of(stranger).get(page_of(name, hull.build, *more)).status_code == 404


def test_list_costs_the_same_for_one_and_for_three(hull, client_of, owner):
    counts = []
    for _count in (1, 3):
        for _ in range(_count):
            plain_photo(hull).marks.create(strake=hull.strakes["1"], station=hull.stations[0], side="port")
        with CaptureQueriesContext(connection) as caught:
            client_of(owner).get(page_of("photo-list", hull.build), {"show": "all"})
        counts.append(len(caught))

    assert counts[0] == counts[1]


def test_page_asks_again_by_itself_while_a_photograph_is_made_ready(hull, client_of, owner):
    one = factories.PhotoFactory(build=hull.build, file_name="IMG_2041.JPG")
    address = page_of("photo-detail", hull.build, one.uuid)

    page = client_of(owner).get(address).content.decode()

    assert f'hx-get="{address}" hx-trigger="every 1s"' in page
    assert "IMG_2041.JPG is here and safe; it is being made ready." in page
