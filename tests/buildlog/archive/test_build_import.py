"""A build taken in from a file: what comes in is what went out, and what is wrong with a file is said in words."""

import json
import re
import uuid
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from buildlog import models
from buildlog.actions import planks, plans
from buildlog.archive import build_json
from buildlog.archive.build_import import AlreadyHere
from buildlog.archive.trouble import Damaged
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
)
from tests.factories import NOON
from tests.hulls import lay_down_hull

pytestmark = pytest.mark.django_db


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
    with pytest.raises(Damaged, match="does not hold the tables"):
        take(saved)
    monkeypatch.setattr(upgrades, "VERSION", now + 1)
    monkeypatch.setitem(upgrades.STEPS, now, split_lines)
    build = take(saved).build

    assert (build.openings.get().keel_line, build.openings.get().wale_line) == ("keel", "wale")
    assert set(build.instruments.values_list("resolution_nm", "retired_at")) == {(10_000, None)}
