"""Files that are not as they should be: a sentence, and nothing is written."""

import struct
import zipfile

import pytest

from buildlog import models
from buildlog.archive import build_read, build_zip
from buildlog.archive.trouble import ArchiveTrouble, Damaged, NewerVersion
from buildlog.photos import store
from tests.buildlog.archive.build_kit import (
    counts,
    members_of,
    take,
    with_document,
    zipped,
)

pytestmark = pytest.mark.django_db


def refuse(path, words, sort=Damaged):
    before = counts()
    with pytest.raises(sort, match=words):
        take(path)
    assert counts() == before
    assert not [each for each in (store.root() / "originals").rglob("*") if each.is_file()]


def test_file_that_is_no_build_is_refused(own_data, db, tmp_path):
    path = tmp_path / "x.zip"
    for content, words in [(b"", "not a ZIP"), (b"hello", "not a ZIP"), (b"PK\x03\x04" + b"\0" * 90, "not a ZIP")]:
        path.write_bytes(content)
        refuse(path, words)
    refuse(zipped(path, {"notes.txt": b"x"}), "is not a build saved by")
    refuse(tmp_path / "nowhere.zip", "is not a file")


@pytest.mark.parametrize("name", [
    "../../etc/passwd", "/etc/passwd", "photographs/../build.json", "photographs\\..\\x.jpg", "C:\\x.jpg",
    "photographs/0001.svg", "photographs/0001.jpg/x", "Build.json", "extra.py",
])  # fmt: skip
def test_name_that_no_build_holds_is_refused(saved, name):
    members = members_of(saved) | {name: b"x"}

    refuse(zipped(saved, members), "which no saved build holds")


def test_file_that_stands_twice_is_refused(saved):
    members = members_of(saved)
    with pytest.warns(UserWarning, match="Duplicate name"), zipfile.ZipFile(saved, "a") as archive:
        archive.writestr("build.json", members["build.json"])

    refuse(saved, "holds a file twice")


def test_link_is_refused(saved):
    members = members_of(saved)
    entry = zipfile.ZipInfo("photographs/0001.jpg")
    entry.external_attr = 0o120777 << 16
    with zipfile.ZipFile(saved, "w") as archive:
        for name, text in members.items():
            archive.writestr(name, text)
        archive.writestr(entry, "/etc/passwd")

    refuse(saved, "is a link")


def test_file_made_to_fill_a_disk_is_not_unpacked(saved):
    members = members_of(saved) | {"widths.csv": b"0" * (30 << 20)}
    refuse(zipped(saved, members), "would grow more than 200 times")

    members["widths.csv"] = b"0" * (65 << 20)
    refuse(zipped(saved, members, compress=zipfile.ZIP_STORED), "too large: 65 MB, at most 64")


def test_file_that_lies_about_its_size_is_refused(saved):
    """The directory says 100 bytes; what unpacks is a megabyte."""
    raw = zipped(saved, members_of(saved) | {"gaps.csv": bytes(range(256)) * 4096}).read_bytes()
    size = struct.pack("<L", 256 * 4096)
    saved.write_bytes(raw.replace(size, struct.pack("<L", 100)))

    refuse(saved, "gaps.csv")


def test_more_files_or_bytes_than_a_build_has_are_refused(saved, monkeypatch):
    monkeypatch.setattr(build_zip, "MOST_FILES", 5)
    refuse(saved, "holds 11 files; a build has at most 5")
    monkeypatch.undo()
    monkeypatch.setattr(build_zip, "LARGEST_IN_ALL", 1000)
    refuse(saved, "too much")


def test_flipped_or_missing_bytes_are_found(saved):
    raw = saved.read_bytes()
    step = len(raw) // 60
    for place in range(0, len(raw), step):
        saved.write_bytes(raw[:place])
        with pytest.raises(ArchiveTrouble):
            take(saved)
    members = members_of_raw(saved, raw)
    for name in members:
        if name != "SHA256SUMS":
            members_now = members | {name: members[name] + b" "}
            refuse(zipped(saved, members_now, sums=False), "its SHA-256 is another|is damaged")


def members_of_raw(path, raw):
    path.write_bytes(raw)
    return members_of(path)


def test_file_that_the_list_does_not_know_is_refused(saved):
    members = members_of(saved)
    members["photographs/0001.jpg"] = b"x"

    refuse(zipped(saved, members, sums=False), "its files are not those that SHA256SUMS lists")


@pytest.mark.parametrize(("text", "words"), [
    (b"{", "it is not JSON, line 1"),
    (b"[]", "it holds no build"),
    (b"\xff\xfe", "not UTF-8"),
    (b'{"version": NaN}', "NaN is not a number"),
    (b'{"version": -Infinity}', "-Infinity is not a number"),
    (b'{"version": 1e999}', "too large"),
    (b'{"version": ' + b"9" * 5000 + b"}", "the number 999999999999… is too long"),
    (b'{"version": 1, "version": 1}', "“version” stands twice"),
    (b"[" * 100_000, "nested too deep"),
    (b'{"schema": "another", "version": 1}', "This is not a build saved by"),
    (b'{"schema": "strake-reckoner-build", "version": "1"}', "This is not a build saved by"),
    (b'{"schema": "strake-reckoner-build", "version": true}', "This is not a build saved by"),
    (b'{"schema": "strake-reckoner-build", "version": 1}', "does not hold what a build holds"),
])  # fmt: skip
def test_text_that_is_no_build_is_refused(saved, text, words):
    refuse(zipped(saved, members_of(saved) | {"build.json": text}), words)


def test_build_of_a_later_version_is_told(saved):
    with_document(saved, lambda document: document.update(version=99))

    refuse(saved, "saved by a later version of Strake Reckoner: its form is 99", NewerVersion)


def _set(table, column, value, place=0):
    def change(document):
        document["tables"][table][place][column] = value

    return change

NO_UUID = "00000000-0000-4000-8000-000000000000"


@pytest.mark.parametrize(("change", "words"), [
    (_set("planwidth", "width_nm", 10**18 * 12), "planwidth 1, width_nm:"),
    (_set("planwidth", "width_nm", 4.5), "planwidth 1, width_nm: this is no whole number"),
    (_set("planwidth", "width_nm", True), "this is no whole number"),
    (_set("planwidth", "width_nm", "5"), "this is no whole number"),
    (_set("planwidth", "width_nm", None), "it may not be empty"),
    (_set("planwidth", "width_nm", -5), "do not keep the rules of our tables"),
    (_set("planwidth", "width_nm", 10**12 + 1), "planwidth 1, width_nm: this is longer than any ship"),
    (_set("planwidth", "width_nm", 2**62), "planwidth 1, width_nm: this is longer than any ship"),
    (_set("station", "x_nm", -(10**12) - 1), "station 1, x_nm: this is longer than any ship"),
    (_set("build", "scale_den", 2**31 - 1), "build 1, scale_num and scale_den: "),
    (_set("build", "scale_num", 1000), "build 1, scale_num and scale_den: "),
    (_set("build", "scale_den", 0), "its denominator must be a whole number above zero"),
    (_set("build", "scale_den", None), "its denominator must be a whole number above zero"),
    (_set("planwidth", "station", NO_UUID), "planwidth 1, station: there is no such station"),
    (_set("planwidth", "unit", "x" * 9), "planwidth 1, unit:"),
    (_set("planwidth", "size", "huge"), "“huge” is none of its words"),
    (_set("planwidth", "colour", "red"), "it holds “colour” besides"),
    (_set("build", "time_zone", "Mars/Olympus"), "there is no zone"),
    (_set("build", "name", "a\0b"), "a sign that no record can hold"),
    (_set("build", "name", 7), "build 1, name: this is no text"),
    (_set("build", "first_run", []), "this has another shape"),
    (_set("build", "photographs_only", 1), "this is neither true nor false"),
    (_set("build", "created_at", "2026-01-01"), "this is no time with its zone"),
    (_set("build", "created_at", "yesterday"), "this is no time with its zone"),
    (_set("build", "uuid", "12"), "build 1, uuid: this is no uuid"),
    (_set("build", "uuid", None), "it may not be empty"),
    (_set("planstrake", "spans", [[1, "2"]]), "a stretch is a pair of frame numbers"),
    (_set("planstrake", "position", 1, 1), "do not keep the rules of our tables"),
    (_set("opening", "side", "both"), "“both” is none of its words"),
    (lambda d: d["tables"]["strake"].append(d["tables"]["strake"][0]), "two rows have one uuid"),
    (lambda d: d["tables"]["strake"].append(4), "does not hold the tables"),
    (lambda d: d["tables"]["planwidth"].append(4), "does not hold the tables"),
    (lambda d: d["tables"]["build"].clear(), "A file holds one build; this one holds 0"),
    (lambda d: d["tables"].pop("reading"), "does not hold the tables"),
    (lambda d: d["tables"].update(account=[]), "does not hold the tables"),
    (lambda d: d["photographs"].update({NO_UUID: "build.json"}), "these are no files"),
    (lambda d: d["photographs"].update({NO_UUID: "../x"}), "which is not in the file"),
])  # fmt: skip
@pytest.mark.django_db(transaction=True)
def test_row_that_no_table_of_ours_holds_is_named(saved, change, words):
    refuse(with_document(saved, change), words)


@pytest.mark.parametrize("widths", [{"M": "5"}, {"M": 4.5}, {"M": True}, {"M": None}, {"M": [1]}, {"M": 10**12 + 1}])
@pytest.mark.parametrize("model", [models.Plank, models.CardPrint])
def test_widths_to_set_that_are_none_are_named(model, widths):
    with pytest.raises(Damaged, match="plank 1, set_widths: these are no widths"):
        build_read._look_closer(model(set_widths=widths), "plank 1")
    build_read._look_closer(model(set_widths={"M": 4_980_000, "A": 10**12}), "plank 1")


def test_longest_that_a_form_takes_in_is_taken_in_from_a_file(saved):
    def change(document):
        document["tables"]["planwidth"][0]["width_nm"] = 10**12
        document["tables"]["build"][0].update(scale_num=1, scale_den=1000)

    take(with_document(saved, change))


def test_two_builds_of_one_file_are_refused(saved):
    def twice(document):
        other = dict(document["tables"]["build"][0], uuid=NO_UUID)
        document["tables"]["build"].append(other)

    refuse(with_document(saved, twice), "this one holds 2")
