"""A build saved to a file: what is in it, what is never in it, and that it can be read without the tool."""

import csv
import hashlib
import io
import json
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from buildlog import models
from buildlog.actions.links import make_link
from buildlog.actions.photos import receive_photo
from buildlog.archive import build_json
from buildlog.archive.trouble import ArchiveTrouble, Damaged
from buildlog.jobs import worker
from buildlog.photos import store
from tests import factories
from tests.buildlog.archive.build_kit import members_of, save, sums_of, take, text_of, undone, zipped
from tests.buildlog.photos.file_parts import noise, saved
from tests.factories import NOON

pytestmark = pytest.mark.django_db


def send(hull, seed, kind="JPEG", **fields):
    """Receive a photograph that says where and with which camera it was taken."""
    from PIL import Image

    exif = Image.Exif()
    exif[0x0110], exif[0x8825] = "CAMERA 4711", {1: "N", 2: (51.0, 28.0, 38.0)}
    content = saved(noise(400, 300, seed=seed), kind, exif=exif)
    file = SimpleUploadedFile(f"{seed}.jpg", content)
    return receive_photo(hull.build, hull.person, client_uuid=uuid.uuid4(), file=file, now=NOON, **fields)[0]


@pytest.fixture
def shown(own_data, hull):
    """A hull with two photographs that are ready, one sent twice, and one that was refused."""
    hull.photos = [send(hull, 1, caption="=the bow"), send(hull, 2), send(hull, 2)]
    factories.PhotoFactory(build=hull.build, state="refused", refusal="Damaged.", file_name="bad.jpg")
    worker.run_pending()
    return hull


def test_photographs_go_out_and_come_in_as_they_were_sent(shown, tmp_path):
    path = tmp_path / "hull.zip"
    text = text_of(shown.build)
    with undone():
        told = save(shown.build, path)
        raw = {name: text for name, text in members_of(path).items() if name.endswith(".jpg")}
        assert sorted(raw) == ["photographs/0001.jpg", "photographs/0002.jpg"]
        assert {hashlib.sha256(each).hexdigest() for each in raw.values()} == {p.sha256 for p in shown.photos}
        assert (told.photographs, told.missing) == (3, ())

    taken = take(path, as_copy=True)

    assert len(taken.photographs) == 3
    assert {photo.state for photo in taken.photographs} == {"received"}
    assert [each.uuid for each in shown.photos] != [each.uuid for each in taken.photographs]
    assert text_of(shown.build) == text


def test_file_to_give_away_holds_no_place_and_no_camera(shown, tmp_path):
    save(shown.build, tmp_path / "own.zip")
    save(shown.build, tmp_path / "away.zip", originals=False)
    own, away = members_of(tmp_path / "own.zip"), members_of(tmp_path / "away.zip")

    assert any(b"CAMERA 4711" in text for text in own.values())
    assert not any(b"CAMERA 4711" in text or b"Exif" in text for text in away.values())
    assert b"originals are not in this file" in away["READ ME.txt"].replace(b"\r\n", b" ")
    taken = take(tmp_path / "away.zip", as_copy=True)
    assert (len(taken.photographs), taken.refused) == (3, [])
    assert {p.sha256 for p in taken.photographs}.isdisjoint({p.sha256 for p in shown.photos})


def test_photograph_without_its_file_is_named_on_both_ends(shown, tmp_path):
    store.path_of(store.key_of(shown.photos[0].sha256)).unlink()

    told = save(shown.build, tmp_path / "hull.zip")
    taken = take(tmp_path / "hull.zip", as_copy=True)

    assert told.missing == (str(shown.photos[0].uuid),)
    assert taken.refused == [("1.jpg", "This photograph was not in the file that the build came from.")]
    assert taken.build.photos.filter(state="refused").count() == 2


def test_file_that_is_no_photograph_is_refused_and_the_rest_comes_in(shown, tmp_path):
    path = tmp_path / "hull.zip"
    save(shown.build, path)
    text = b"<svg onload=alert(1)>"
    spoil(path, "photographs/0001.jpg", text, hashlib.sha256(text).hexdigest())

    taken = take(path, as_copy=True)

    assert [name for name, _why in taken.refused] == ["1.jpg"]
    assert "SVG" in taken.refused[0][1]
    assert len(taken.photographs) == 2


def test_other_photograph_than_its_row_tells_of_is_refused_and_nothing_stays(shown, tmp_path):
    path = tmp_path / "hull.zip"
    save(shown.build, path)
    spoil(path, "photographs/0002.jpg", saved(noise(40, 30, seed=77), "JPEG"), None)
    before = files()

    with pytest.raises(Damaged, match=r"photographs/0002\.jpg is not the photograph that build\.json tells of"):
        take(path, as_copy=True)

    assert files() == before
    assert models.Build.objects.count() == 1


def test_photographs_kept_for_a_build_that_failed_are_taken_away(shown, tmp_path):
    path = tmp_path / "hull.zip"
    save(shown.build, path)
    for photo in shown.photos:
        store.path_of(store.key_of(photo.sha256)).unlink(missing_ok=True)
    models.PhotoMark.objects.all().delete()
    models.PhotoRendition.objects.all().delete()
    models.Photo.objects.all().delete()
    before = files()

    def fail(taken):
        assert len(files()) == len(before) + 2
        raise RuntimeError("the lights went out")

    with pytest.raises(RuntimeError):
        take(path, as_copy=True, within=fail)

    assert files() == before


def files():
    return sorted(path for path in store.root().rglob("*") if path.is_file())


def spoil(path, name, content, sha256):
    """Put another file in the place of a photograph, with a list of digests that agrees."""
    members = members_of(path) | {name: content}
    document = build_json.read(members["build.json"])
    if sha256:
        uuids = {key for key, file in document["photographs"].items() if file == name}
        for row in document["tables"]["photo"]:
            row["sha256"] = sha256 if row["uuid"] in uuids else row["sha256"]
    members["build.json"] = build_json.written(document)
    zipped(path, members)


def test_no_secret_is_in_the_file(own_data, hull, tmp_path):
    hull.person.account.set_password("a password nobody knows")
    hull.person.account.save()
    link = make_link(hull.build, name="The club", person=hull.person, now=NOON)
    save(hull.build, tmp_path / "hull.zip")

    everything = b"".join(members_of(tmp_path / "hull.zip").values())
    for secret in (hull.person.account.password, link.token_sha256, str(link.uuid), str(hull.person.account.uuid)):
        assert secret.encode() not in everything


def test_another_build_of_the_log_is_not_in_the_file(own_data, hull, owner, tmp_path):
    from tests.hulls import lay_down_hull

    other = lay_down_hull(owner, name="Another vessel").build
    save(hull.build, tmp_path / "hull.zip")

    everything = b"".join(members_of(tmp_path / "hull.zip").values())
    assert b"Another vessel" not in everything
    assert str(other.uuid).encode() not in everything


def test_file_is_read_without_the_tool(own_data, hull, tmp_path):
    """The rows of widths.csv are those of the build, the sums check, and the JSON is plain JSON."""
    factories.SessionFactory(build=hull.build, note="=HYPERLINK(1)", kinds=["hanging"])
    save(hull.build, tmp_path / "hull.zip")
    members = members_of(tmp_path / "hull.zip")

    rows = list(csv.DictReader(io.StringIO(members["sessions.csv"].decode("utf-8-sig"))))
    document = json.loads(members["build.json"])

    assert rows[0]["note"] == "'=HYPERLINK(1)"
    assert members["SHA256SUMS"] == sums_of(members)
    assert json.loads(members["schema.json"])["properties"]["version"] == {"const": document["version"]}
    assert {row["width_nm"] for row in document["tables"]["planwidth"]} == {5_000_000}
    assert b"READ ME" in b" ".join(name.encode() for name in members)


def test_nothing_is_written_over(own_data, hull, tmp_path):
    (tmp_path / "hull.zip").write_bytes(b"mine")

    with pytest.raises(ArchiveTrouble, match="is there already"):
        save(hull.build, tmp_path / "hull.zip")
    with pytest.raises(ArchiveTrouble, match="is not there"):
        save(hull.build, tmp_path / "no" / "hull.zip")

    assert (tmp_path / "hull.zip").read_bytes() == b"mine"
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_file_to_give_away_holds_the_cut_picture_with_its_marks_in_their_new_places(shown, tmp_path):
    """What goes out is cut and turned already: taken in again, it must not be cut once more."""
    from buildlog.actions.photo_edits import add_mark, crop_photo

    told = {"person": shown.person, "now": NOON}
    first, second, _same = shown.photos
    crop_photo(first, [0.5, 0, 1, 1], **told)
    add_mark(first, kind="number", place=(0.9, 0.9), to=(0.75, 0.5), text="free edge", **told)
    models.Photo.objects.filter(pk=second.pk).update(taken_out_at=NOON)
    worker.run_pending()

    save(shown.build, tmp_path / "away.zip", originals=False)

    text = members_of(tmp_path / "away.zip")["build.json"]
    rows = {row["uuid"]: row for row in json.loads(text)["tables"]["photo"]}
    row = rows[str(first.uuid)]
    assert row["edits"] == {}
    assert (row["drawn"][0]["to_x"], row["drawn"][0]["to_y"]) == (0.5, 0.5)
    assert b"CAMERA 4711" not in text
    assert first.camera == "CAMERA 4711"


def test_edits_series_and_the_files_own_time_come_in_as_they_went_out(shown, tmp_path):
    series = factories.PhotoSeriesFactory(build=shown.build)
    kept = {"edits": {"turn": 90}, "taken_in_file": "2026-03-14T19:00:00", "is_slate": True, "series": series}
    models.Photo.objects.filter(pk=shown.photos[0].pk).update(**kept)
    save(shown.build, tmp_path / "hull.zip")

    taken = take(tmp_path / "hull.zip", as_copy=True)

    copy = models.Photo.objects.exclude(build=shown.build).get(caption="=the bow")
    assert (copy.edits, copy.taken_in_file, copy.is_slate) == ({"turn": 90}, "2026-03-14T19:00:00", True)
    assert copy.series.name == series.name
    assert len(taken.photographs) == 3
