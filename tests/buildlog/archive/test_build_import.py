"""A build taken in from a file: what comes in is what went out, and what is wrong with a file is said in words."""

import json
import re
import struct
import uuid
import zipfile
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from buildlog import models
from buildlog.actions import planks, plans
from buildlog.archive import build_json, build_zip
from buildlog.archive.build_import import AlreadyHere
from buildlog.archive.trouble import ArchiveTrouble, Damaged, NewerVersion
from buildlog.photos import store
from tests import factories
from tests.buildlog.archive.build_kit import (
    counts,
    members_of,
    save,
    saved_and_gone,
    take,
    text_of,
    undone,
    with_document,
    zipped,
)
from tests.factories import NOON
from tests.hulls import lay_down_hull

pytestmark = pytest.mark.django_db


@pytest.fixture
def saved(own_data, owner, tmp_path):
    """A small build in a file, and no longer in the log."""
    path = tmp_path / "small.zip"
    saved_and_gone(lambda: lay_down_hull(owner).build, path)
    return path


# import(export(x)) = x


ODD = st.text(
    st.characters(codec="utf-8", exclude_characters="\0", exclude_categories=["Cs"]), min_size=1, max_size=20
)  # fmt: skip
NM = st.integers(1, 90_000_000)
MISSING = st.sampled_from(["port plank broke", "no room for jaws", "später"])


@st.composite
def told_builds(draw):
    """Return what to tell of a build: names, readings of every kind, amendments, sessions, remarks."""
    return {
        "name": draw(ODD), "story": draw(ODD), "person": draw(ODD), "labels": draw(st.integers(3, 5)),
        "sides": draw(st.sampled_from([("port",), ("starboard",), ("port", "starboard")])),
        "session": draw(ODD), "kinds": draw(st.lists(ODD, max_size=3)), "remark": draw(ODD),
        "readings": draw(st.lists(st.tuples(
            st.sampled_from(["width", "gap", "girth", "edge", "thickness", "zero"]), st.one_of(NM, MISSING),
            st.sampled_from(["jaws", "dividers", "paper_strip", "tape", "photo"]), st.sampled_from(["dry", "damp"]),
            st.integers(0, 2), st.sampled_from([None, "replaces", "withdraws", "doubts"]), ODD), max_size=6)),
        "marks": draw(st.lists(st.fixed_dictionaries({"kind": ODD, "x": st.floats(0, 1)}), max_size=2)),
    }  # fmt: skip


def lay_down(account, told):
    """Lay down a build as told."""
    hull = lay_down_hull(account, labels=told["labels"], sides=told["sides"], name=told["name"])
    models.Build.objects.filter(pk=hull.build.pk).update(story=told["story"])
    other = models.Person.objects.create(build=hull.build, display_name=told["person"])
    session = factories.SessionFactory(build=hull.build, note=told["session"], kinds=told["kinds"], by=other)
    label = next(iter(hull.strakes))
    plank = planks.hang_strake(hull.strakes[label], person=hull.person, now=NOON)
    plank = plank if isinstance(plank, models.Plank) else hull.strakes[label].planks.first()
    models.Tip.objects.create(session=session, person=other, text=told["remark"], written_at=NOON, operation="spiling")
    models.Mishap.objects.create(session=session, plank=plank, text=told["remark"], written_at=NOON)
    models.Worry.objects.create(session=session, text=told["remark"], written_at=NOON, closed_at=NOON)
    for place, one in enumerate(told["readings"]):
        _record(hull, hull.strakes[label], plank, session, other, place, *one)
    photo = factories.PhotoFactory(build=hull.build, session=session, state="refused", refusal=told["remark"],
                                   drawn=told["marks"])  # fmt: skip
    models.PhotoMark.objects.create(photo=photo, strake=hull.strakes[label], plank=plank, station=hull.stations[0])
    draft = plans.copy_revision(hull.revision, reason=told["remark"], person=other, now=NOON, accepted_by_eye=True)
    told_back = {"accepted_photo": photo, "answer": told["remark"], "proposed_at": NOON}
    models.PlanRevision.objects.filter(pk=draft.pk).update(**told_back)
    models.Lot.objects.create(build=hull.build, name=told["remark"])
    assert draft.based_on == hull.revision
    return hull.build


def _record(hull, strake, plank, session, person, place, kind, value, method, damp, station, act, words):
    moment = NOON + timedelta(seconds=place, microseconds=place * 37)
    on_plank = {"strake": strake, "plank": plank} if kind in ("width", "thickness") else {}
    where = {} if kind == "zero" else {"opening": hull.opening, "station": hull.stations[station]}
    is_missing = isinstance(value, str)
    fields = {
        "build": hull.build, "kind": kind, "method": method, "damp": damp, "person": person, "session": session,
        "value_nm": None if is_missing else value, "missing_reason": value if is_missing else "",
        "instrument": hull.caliper, "epoch": hull.caliper.epochs.first(), "happened_at": moment, "known_at": moment,
        "received_at": moment, "content_sha256": "0" * 64, "typed": words, **where, **on_plank,
    }  # fmt: skip
    reading = models.Reading.objects.create(client_uuid=uuid.uuid4(), **fields)
    if act:
        new = models.Reading.objects.create(client_uuid=uuid.uuid4(), **fields) if act == "replaces" else None
        models.Amendment.objects.create(
            target=reading, act=act, new_reading=new, reason=words, person=person, happened_at=moment,
            known_at=moment, received_at=moment,
        )  # fmt: skip


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(told=told_builds())
def test_what_comes_in_is_what_went_out(own_data, owner, tmp_path, told):
    path = tmp_path / "build.zip"
    path.unlink(missing_ok=True)
    text = saved_and_gone(lambda: lay_down(owner, told), path)
    assert models.Build.objects.count() == 0

    with undone():
        again = text_of(take(path).build)

    assert again == text


def test_whole_sample_hull_comes_in_as_it_went_out_and_its_reviews_say_the_same(own_data, owner, tmp_path):
    from buildlog.sample.story import THE_END, tell_story

    said = {}

    def tell():
        build = tell_story(owner, until=THE_END)
        said.update(sentences_of(build))
        return build

    text = saved_and_gone(tell, tmp_path / "sample.zip")
    taken = take(tmp_path / "sample.zip")

    assert text_of(taken.build) == text
    assert len(said) == 2
    assert sentences_of(taken.build) == said


def sentences_of(build):
    """Return what the page of each opening says of it."""
    from buildlog.measuring.reviews import review_of

    return {str(one.uuid): str(review_of(one)) for one in build.openings.all()}


def test_same_build_saved_twice_is_the_same_to_the_byte(own_data, hull, tmp_path):
    save(hull.build, tmp_path / "first.zip")
    save(hull.build, tmp_path / "second.zip")

    assert (tmp_path / "first.zip").read_bytes() == (tmp_path / "second.zip").read_bytes()


# Once more where it is already


def test_build_that_is_here_is_told_and_may_come_in_as_a_copy(own_data, hull, tmp_path):
    path = tmp_path / "hull.zip"
    save(hull.build, path)
    before = counts()

    with pytest.raises(AlreadyHere, match=r"Test hull, is in this log already\. .*--as-copy"):
        take(path)
    assert counts() == before
    copy = take(path, as_copy=True).build

    assert counts() == {name: 2 * count for name, count in before.items()}
    assert (copy.name, copy.is_sample) == ("Test hull (copy)", False)
    assert_same_but_for_names(text_of(hull.build), text_of(copy).replace(b" (copy)", b""))


def assert_same_but_for_names(first: bytes, second: bytes):
    """Compare two builds with each uuid replaced by the place where it first stands."""
    name = re.compile(rb"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
    told = []
    for text in (first, second):
        # client_uuid is of the phone that sent the reading, and stays.
        places = {found: str(place).encode() for place, found in enumerate(dict.fromkeys(name.findall(text)))}
        told.append(name.sub(lambda found, places=places: places[found[0]], text))
    assert set(name.findall(first)) & set(name.findall(second)) == set()
    assert told[0] == told[1]


def test_part_of_a_build_that_is_here_is_told(saved, owner):
    taken = members_of(saved)
    strake = build_json.read(taken["build.json"])["tables"]["strake"][0]["uuid"]
    factories.StrakeFactory(uuid=strake)

    with pytest.raises(AlreadyHere, match=r"Parts of this build are in this log already \(strake\)"):
        take(saved)


# Files that are not as they should be: a sentence, and nothing is written


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


def test_two_builds_of_one_file_are_refused(saved):
    def twice(document):
        other = dict(document["tables"]["build"][0], uuid=NO_UUID)
        document["tables"]["build"].append(other)

    refuse(with_document(saved, twice), "this one holds 2")


def test_every_version_that_was_ever_written_opens(own_data, db):
    """Files kept for ever, one a version; what they hold was counted when they were made."""
    from tests.buildlog.archive.make_fixture import FIXTURES

    kept = sorted(FIXTURES.glob("build_v*.zip"))
    assert kept
    for path in kept:
        told = json.loads(path.with_suffix(".json").read_text())
        with undone():
            build = take(path).build
            widths = models.PlanWidth.objects.filter(plan_strake__revision__build=build)
            read = models.Reading.objects.filter(build=build, value_nm__isnull=False)
            assert {
                "name": build.name, "sessions": build.sessions.count(), "planks": models.Plank.objects.count(),
                "plan_widths": widths.count(), "plan_widths_nm": sum(widths.values_list("width_nm", flat=True)),
                "readings": read.count(), "readings_nm": sum(read.values_list("value_nm", flat=True)),
            } == told  # fmt: skip


def test_older_file_gets_what_its_version_did_not_know(saved, monkeypatch):
    """As if a column and a table had come with the next version, and another column had been split by a step."""
    from buildlog.archive import upgrades

    now = upgrades.VERSION

    def as_this_version_had_it(document):
        for session in document["tables"]["instrument"]:
            session.pop("retired_at")
            session.pop("resolution_nm")
        for opening in document["tables"]["opening"]:
            opening["lines"] = f"{opening.pop('keel_line')} to {opening.pop('wale_line')}"
        document["tables"].pop("lot")

    def split_lines(document):
        for opening in document["tables"]["opening"]:
            opening["keel_line"], opening["wale_line"] = opening.pop("lines").split(" to ")

    with_document(saved, as_this_version_had_it)
    refuse(saved, "does not hold the tables")
    monkeypatch.setattr(upgrades, "VERSION", now + 1)
    monkeypatch.setitem(upgrades.STEPS, now, split_lines)
    build = take(saved).build

    assert (build.openings.get().keel_line, build.openings.get().wale_line) == ("keel", "wale")
    assert set(build.instruments.values_list("resolution_nm", "retired_at")) == {(10_000, None)}
