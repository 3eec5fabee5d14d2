"""Photo + note: photographs many at once, each kept or refused by name; words are never written twice."""

import io
import struct
import uuid
import zlib
from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from buildlog.models import Photo, Session
from tests import factories
from tests.buildlog.photos.file_parts import exif_block, jpeg_segment, noise, saved, with_segments


def _huge_png() -> bytes:
    """A small file that says it is 16000 by 16000: it must be refused before a point of it is decoded."""
    head = b"IHDR" + struct.pack(">IIBBBBB", 16_000, 16_000, 8, 2, 0, 0, 0)
    chunks = [head, b"IDAT" + zlib.compress(bytes(1000)), b"IEND"]
    body = b"".join(struct.pack(">I", len(one) - 4) + one + struct.pack(">I", zlib.crc32(one)) for one in chunks)
    return b"\x89PNG\r\n\x1a\n" + body


def picture(name="bench.jpg", colour=(120, 90, 60)):
    data = io.BytesIO()
    Image.new("RGB", (640, 480), colour).save(data, "JPEG")
    return SimpleUploadedFile(name, data.getvalue(), "image/jpeg")


@pytest.fixture
def url(hull):
    return reverse("photo-note", args=[hull.build.uuid])


def _post(**fields):
    return {"batch": str(uuid.uuid4()), "note": "", "next_note": "", "caption": "", "strake": ""} | fields


def test_photographs_are_received_many_at_once_with_strake_and_words(hull, client_of, owner, url):
    strake = hull.strakes["5"]
    files = [picture("a.jpg"), picture("b.jpg", (1, 2, 3))]

    answer = client_of(owner).post(url, _post(photos=files, strake=str(strake.uuid), caption="clamped at M"))

    photos = list(Photo.objects.order_by("pk"))
    assert answer.url == reverse("bench", args=[hull.build.uuid])
    assert [photo.caption for photo in photos] == ["clamped at M"] * 2
    assert [photo.marks.get().strake for photo in photos] == [strake] * 2
    assert {photo.session for photo in photos} == {Session.objects.get()}


def test_file_that_is_no_photograph_is_named_and_the_others_and_the_note_are_kept(client_of, owner, url):
    files = [picture("good.jpg"), SimpleUploadedFile("plan.pdf", b"%PDF-1.7 nothing", "application/pdf")]

    answer = client_of(owner).post(url, _post(photos=files, note="Glue was thick."))

    page = answer.content.decode()
    assert answer.status_code == 200
    assert "<b>plan.pdf</b>" in page
    assert "1 photograph is received." in page
    assert Photo.objects.count() == 1
    assert Session.objects.get().note == "Glue was thick."


def test_two_photographs_of_one_name_and_size_are_two(client_of, owner, url):
    first, second = picture("image.jpg").read(), picture("image.jpg", (60, 90, 120)).read()
    longest = max(len(first), len(second))
    # What follows the picture's end makes both files as long; a phone names every photograph alike.
    files = [
        SimpleUploadedFile("image.jpg", data.ljust(longest, b"\0"), "image/jpeg") for data in (first, second)
    ]
    data, browser = _post(), client_of(owner)

    for _ in range(2):
        for file in files:
            file.seek(0)
        browser.post(url, data | {"photos": files})

    assert Photo.objects.count() == 2


def test_same_form_sent_twice_keeps_each_photograph_and_word_once(client_of, owner, url):
    data, browser = _post(note="Glue was thick."), client_of(owner)

    for _ in range(2):
        browser.post(url, data | {"photos": [picture("a.jpg")]})

    assert Photo.objects.count() == 1
    assert Session.objects.get().note == "Glue was thick."


def test_second_note_of_a_day_is_added_below(client_of, owner, url):
    browser = client_of(owner)
    browser.post(url, _post(note="Glue was thick."))
    browser.post(url, _post(note="Strake 5 took the curve.", next_note="heat first"))

    session = Session.objects.get()
    assert session.note == "Glue was thick.\n\nStrake 5 took the curve."
    assert session.next_note == "heat first"


@pytest.mark.parametrize("break_", ["\n", "\r\n", "\r"])
def test_note_of_two_paragraphs_sent_twice_is_written_once(client_of, owner, url, break_):
    browser, words = client_of(owner), "Glue was thick.\n\nStrake 5 took the curve."
    browser.post(url, _post(note="Before."))

    for text in (words, words.replace("\n", break_)):
        browser.post(url, _post(note=text, next_note="heat first"))

    session = Session.objects.get()
    assert session.note == f"Before.\n\n{words}"
    assert session.next_note == "heat first"


def test_note_that_begins_like_one_of_the_day_is_another(client_of, owner, url):
    browser = client_of(owner)
    for text in ("Glue was thick.\n\nStrake 5 took the curve.", "Glue was thick.\n\nStrake 6 too.", "Strake 6"):
        browser.post(url, _post(note=text))

    assert Session.objects.get().note.count("Glue was thick.") == 2
    assert Session.objects.get().note.endswith("Strake 6 too.\n\nStrake 6")


def test_script_gets_json_for_each_photograph(client_of, owner, url):
    data, browser, json = _post(), client_of(owner), {"Accept": "application/json"}

    first = browser.post(url, data | {"photos": picture("a.jpg")}, headers=json)
    again = browser.post(url, data | {"photos": picture("a.jpg")}, headers=json)
    bad = browser.post(url, data | {"photos": SimpleUploadedFile("x.jpg", b"no")}, headers=json)

    photo = Photo.objects.get()
    assert (first.status_code, again.status_code, bad.status_code) == (201, 200, 422)
    assert first.json()["photos"] == [
        {"uuid": str(photo.uuid), "client_uuid": str(photo.client_uuid), "created": True, "name": "a.jpg"}
    ]
    assert again.json()["photos"][0]["created"] is False
    assert bad.json()["refused"][0]["name"] == "x.jpg"


def test_full_disk_keeps_the_words_and_says_which_photograph_is_not_kept(client_of, owner, url, monkeypatch):
    monkeypatch.setattr("buildlog.site.disk.free_bytes", lambda: 0)

    answer = client_of(owner).post(url, _post(photos=picture("a.jpg"), note="Glue was thick."))

    page = answer.content.decode()
    assert answer.status_code == 507
    assert "The disk of the log is full; this photograph was not kept." in page
    assert Session.objects.get().note == "Glue was thick."
    assert Photo.objects.count() == 0


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [({"caption": "x" * 301}, "In a few words: at most 300 letters"), ({"batch": "no"}, 'class="err"')],
)
def test_what_cannot_be_read_is_refused_and_the_note_stays_typed(client_of, owner, url, fields, sentence):
    page = client_of(owner).post(url, _post(note="Glue was thick.") | fields).content.decode()

    assert "Glue was thick." in page
    assert Session.objects.count() == 0
    if "caption" in fields:
        assert sentence in page


@pytest.fixture
def gone(stranger):
    """What a phone may still name as a strake: one that was taken out of the plan since, or another build's."""
    from tests.hulls import lay_down_hull

    return {"gone": uuid.uuid4(), "of another build": lay_down_hull(stranger, name="Other").strakes["1"].uuid}


@pytest.mark.parametrize("which", ["gone", "of another build"])
def test_photograph_of_a_strake_that_is_gone_is_kept_without_it_and_that_is_said(client_of, owner, url, gone, which):
    browser, sent = client_of(owner), {"strake": str(gone[which]), "caption": "split at M"}
    sentence = "kept without the strake that was chosen, which is not in this build."

    page = browser.post(url, _post(photos=[picture("a.jpg"), picture("b.jpg", (1, 2, 3))], **sent), follow=True)
    told = browser.post(url, _post(photos=picture("c.jpg", (9, 9, 9)), **sent), headers={"Accept": "application/json"})

    assert f"a.jpg, b.jpg: {sentence}" in page.content.decode()
    assert (told.status_code, told.json()["said"]) == (201, [f"c.jpg: {sentence}"])
    assert list(Photo.objects.values_list("caption", "marks")) == [("split at M", None)] * 3


def test_photograph_sent_again_after_its_strake_went_is_the_same(hull, client_of, owner, url, gone):
    browser, json, data = client_of(owner), {"Accept": "application/json"}, _post(caption="split at M")
    for strake in (hull.strakes["5"].uuid, gone["gone"]):
        answer = browser.post(url, data | {"photos": picture(), "strake": str(strake)}, headers=json)

    assert (answer.status_code, answer.json()["refused"]) == (200, [])
    assert Photo.objects.get().marks.get().strake == hull.strakes["5"]


def test_strake_on_the_bench_is_chosen_already(hull, client_of, owner, url):
    page = client_of(owner).get(f"{url}?strake={hull.strakes['5'].uuid}").content.decode()

    assert f'<option value="{hull.strakes["5"].uuid}" selected>Port 5</option>' in page


def test_same_file_on_another_evening_is_said_and_not_kept_twice(client_of, owner, url):
    browser = client_of(owner)
    browser.post(url, _post(photos=[picture("IMG_2041.JPG")], caption="garboard"))

    said = browser.post(url, _post(photos=[picture("again.jpg")], caption="other words"), follow=True)

    page = said.content.decode()
    assert "again.jpg is in the log already, since" in page
    assert "photographs received" not in page
    assert list(Photo.objects.values_list("file_name", "caption")) == [("IMG_2041.JPG", "garboard")]
    assert "What was sent with it is kept in your note of" in page
    assert Session.objects.get().note == "IMG_2041.JPG, says owner: other words"


def test_words_of_a_second_person_stand_with_a_photograph_that_has_none(hull, client_of, owner, helper, url):
    client_of(owner).post(url, _post(photos=[picture("IMG_2041.JPG")]))

    fields = {"caption": "the split at M", "strake": str(hull.strakes["2"].uuid)}
    for _ in range(2):
        answer = client_of(helper).post(url, _post(photos=[picture("again.jpg")], **fields), follow=True)

    photo = Photo.objects.get()
    assert (photo.caption, photo.alt) == ("the split at M", "port strake 2, the split at M")
    assert photo.marks.get().strake == hull.strakes["2"]
    assert photo.person == hull.person
    assert list(Session.objects.values_list("note", flat=True)) == [""]
    assert "is not kept twice." in answer.content.decode()


def test_words_and_strake_beside_others_go_to_the_senders_own_note_once(hull, client_of, owner, helper, url):
    mine = {"caption": "clamped", "strake": str(hull.strakes["1"].uuid)}
    theirs = {"caption": "the split at M", "strake": str(hull.strakes["2"].uuid)}
    client_of(owner).post(url, _post(photos=[picture("IMG_2041.JPG")], **mine))

    browser, json = client_of(helper), {"Accept": "application/json"}
    told = [browser.post(url, _post(photos=[picture("again.jpg")], **theirs), headers=json).json() for _ in range(2)]

    photo, session = Photo.objects.get(), Session.objects.get(by__account=helper)
    assert (photo.caption, photo.marks.get().strake) == ("clamped", hull.strakes["1"])
    assert session.note == "IMG_2041.JPG, says helper: port strake 2, the split at M"
    assert Session.objects.get(by=hull.person).note == ""
    assert "kept in your note of" in told[0]["said"][0]


def test_same_form_with_other_words_keeps_both(client_of, owner, url):
    browser, data = client_of(owner), _post()
    for words in ("garboard", "garboard, clamped at M"):
        answer = browser.post(url, data | {"photos": [picture()], "caption": words}, follow=True)

    assert "is in the log already" in answer.content.decode()
    assert Photo.objects.get().caption == "garboard"
    assert Session.objects.get().note.endswith(": garboard, clamped at M")


def test_same_file_told_to_a_script_is_done_and_names_what_is_kept(client_of, owner, url):
    browser = client_of(owner)
    browser.post(url, _post(photos=[picture()]))

    answer = browser.post(url, _post(photos=[picture("again.jpg")]), headers={"Accept": "application/json"})

    assert answer.status_code == 200
    assert answer.json()["photos"][0]["uuid"] == str(Photo.objects.get().uuid)
    assert answer.json()["photos"][0]["created"] is False


def test_file_of_a_photograph_that_was_taken_out_is_kept_anew(client_of, owner, url):
    browser = client_of(owner)
    browser.post(url, _post(photos=[picture()]))
    Photo.objects.update(taken_out_at=factories.NOON)

    browser.post(url, _post(photos=[picture()]))

    assert Photo.objects.filter(taken_out_at=None).count() == 1


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("empty.jpg", b"", "is empty: there is no picture in it"),
        ("notes.jpg", b"a shopping list", "is not kept: inside it is a text file"),
        ("dance.gif", b"GIF89a" + bytes(64), "inside it is a GIF picture"),
        ("cut.jpg", saved(noise(), "JPEG")[:9000], "cut.jpg"),
        ("bomb.png", _huge_png(), "million points"),
    ],
)
def test_each_bad_file_is_named_in_a_sentence(client_of, owner, url, name, content, words):
    answer = client_of(owner).post(url, _post(photos=[SimpleUploadedFile(name, content), picture("good.jpg")]))

    page = answer.content.decode()
    assert answer.status_code == 200
    assert f"<b>{name}</b>" in page
    assert words in page
    assert Photo.objects.count() == 1


def test_five_hundred_files_without_a_script_are_told_how_many_may_come(client_of, owner, url, settings):
    files = [picture(f"{n}.jpg") for n in range(settings.DATA_UPLOAD_MAX_NUMBER_FILES + 1)]

    answer = client_of(owner).post(url, _post(photos=files))

    assert answer.status_code == 400
    assert "At most 60 files may come at once." in answer.content.decode()
    assert Photo.objects.count() == 0


def taken(when, name="IMG_1.JPG"):
    notes = b"Exif\0\0" + exif_block(1, taken=when)
    content = with_segments(saved(Image.new("RGB", (320, 240), "peru"), "JPEG"), jpeg_segment(0xE1, notes))
    return SimpleUploadedFile(name, content, "image/jpeg")


def test_photograph_of_an_evening_in_the_log_goes_to_that_session_and_begins_none(hull, client_of, owner, url, clock):
    evening = factories.SessionFactory(build=hull.build, by=hull.person, local_date=date(2026, 3, 10))

    client_of(owner).post(url, _post(photos=[taken("2026:03:10 21:15:00")]))

    assert Photo.objects.get().session == evening
    assert Session.objects.count() == 1


def test_own_session_of_that_evening_comes_before_anothers(hull, client_of, owner, url, clock):
    other = factories.PersonFactory(build=hull.build)
    factories.SessionFactory(build=hull.build, by=other, local_date=date(2026, 3, 10))
    own = factories.SessionFactory(build=hull.build, by=hull.person, local_date=date(2026, 3, 10))

    client_of(owner).post(url, _post(photos=[taken("2026:03:10 21:15:00")]))

    assert Photo.objects.get().session == own


@pytest.mark.parametrize("when", ["2026:03:10 21:15:00", "2031:01:01 00:00:00"])
def test_clock_of_a_camera_begins_no_session_of_its_own(hull, client_of, owner, url, clock, when):
    client_of(owner).post(url, _post(photos=[taken(when)]))

    assert Photo.objects.get().session.local_date == date(2026, 3, 14)
    assert Session.objects.count() == 1
