"""Many photographs at once: labelled, sorted by a slate, their clock put right, and each taken back as a whole."""

from datetime import UTC, date, datetime, timedelta

import pytest

from buildlog.actions import photo_changes
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.models import Event, Photo, PhotoChange, Session
from buildlog.queries.photos import after_slate, marked, photos_of
from tests import factories
from tests.hulls import hang

NOW = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)


@pytest.fixture
def session(hull):
    return factories.SessionFactory(build=hull.build, local_date=date(2026, 3, 14), opened_at=NOW)


@pytest.fixture
def told(hull):
    return {"person": hull.person, "now": NOW}


def photo(hull, taken="2026-03-14T19:00:00", camera="Bench Camera 3", **fields):
    return factories.PhotoFactory(
        build=hull.build, person=hull.person, taken_local=taken, camera=camera, state="ready", **fields
    )


def states(*photos):
    return [photo_changes._state(Photo.objects.get(pk=one.pk)) for one in photos]


def test_twenty_are_labelled_in_one_go_and_leave_the_tray(hull, session, told):
    photos = [photo(hull) for _ in range(20)]

    change = photo_changes.label_photos(
        hull.build, photos, strakes=[hull.strakes["2"]], stations=hull.stations[:2], session=session,
        caption="clamped", **told,
    )  # fmt: skip

    assert len(change.before) == 20
    assert photos_of(hull.build, "tray").count() == 0
    for one in Photo.objects.all():
        found = marked(one)
        assert (found.strakes, found.stations) == ((hull.strakes["2"],), tuple(hull.stations[:2]))
        assert (one.session, one.caption, one.alt) == (session, "clamped", "port strake 2, station F to M, clamped")
    assert Event.objects.filter(verb="labelled").count() == 20


def test_label_leaves_alone_what_is_not_given_and_words_that_somebody_wrote(hull, told):
    one = photo(hull, caption="garboard", alt="The garboard, wet and shining")
    one.marks.create(strake=hull.strakes["1"], side="port")

    photo_changes.label_photos(hull.build, [one], stations=hull.stations[1:2], **told)

    one.refresh_from_db()
    assert marked(one).strakes == (hull.strakes["1"],)
    assert marked(one).stations == (hull.stations[1],)
    assert (one.caption, one.alt) == ("garboard", "The garboard, wet and shining")


def test_label_undone_puts_everything_back_as_it_was(hull, session, told):
    first, second = photo(hull, caption="old words"), photo(hull)
    first.marks.create(strake=hull.strakes["1"], station=hull.stations[0], side="port")
    before = states(first, second)
    change = photo_changes.label_photos(
        hull.build, [first, second], strakes=[hull.strakes["3"]], side="port", session=session, caption="new", **told
    )

    assert states(first, second) != before
    assert photo_changes.undo_change(change, **told) == 0

    assert states(first, second) == before


def test_undo_leaves_what_was_written_over_it_since(hull, told):
    first, second = photo(hull), photo(hull)
    change = photo_changes.label_photos(hull.build, [first, second], caption="both", **told)
    Photo.objects.filter(pk=first.pk).update(caption="mended since")

    assert photo_changes.undo_change(change, **told) == 1

    captions = Photo.objects.order_by("pk").values_list("caption", flat=True)
    assert list(captions) == ["mended since", ""]


def test_undo_is_done_once(hull, told):
    change = photo_changes.label_photos(hull.build, [photo(hull)], caption="both", **told)
    photo_changes.undo_change(change, **told)

    with pytest.raises(NotPossible, match="taken back already"):
        photo_changes.undo_change(change, **told)


def test_label_that_changes_nothing_leaves_nothing_to_undo(hull, told):
    one = photo(hull, caption="same", alt="same")

    assert photo_changes.label_photos(hull.build, [one], caption="same", **told) is None
    assert PhotoChange.objects.count() == 0


def test_photographs_go_to_sessions_of_their_own_dates_and_new_ones_are_begun(hull, session, told):
    evening, older = photo(hull), [photo(hull, taken="2025-11-02T20:00:00"), photo(hull, taken="2025-11-02T21:00:00")]
    nameless = photo(hull, taken="")

    change = photo_changes.label_photos(
        hull.build, [evening, *older, nameless], session=photo_changes.BY_DATE, **told
    )

    dates = Photo.objects.order_by("pk").values_list("session__local_date", flat=True)
    assert list(dates) == [date(2026, 3, 14), date(2025, 11, 2), date(2025, 11, 2), None]
    assert Session.objects.count() == 2
    photo_changes.undo_change(change, **told)
    assert list(Session.objects.all()) == [session]


def test_session_begun_for_a_change_stays_if_something_was_written_in_it(hull, told):
    change = photo_changes.label_photos(hull.build, [photo(hull)], session=photo_changes.BY_DATE, **told)
    Session.objects.update(note="The wale is on.")

    photo_changes.undo_change(change, **told)

    assert Session.objects.get().note == "The wale is on."


# A slate.


def test_slate_takes_the_nine_after_it_and_no_other(hull, session, told):
    slate = photo(hull, taken="2026-03-14T19:00:00")
    nine = [photo(hull, taken=f"2026-03-14T19:0{n}:30") for n in range(9)]
    photo(hull, taken="2026-03-14T18:59:59")
    photo(hull, taken="2026-03-14T19:05:00", camera="Another")
    photo(hull, taken="2026-03-14T23:00:01")
    photo(hull, taken="2026-03-14T19:05:00", taken_out_at=NOW)

    assert after_slate(slate) == nine
    change = photo_changes.sort_by_slate(slate, nine, session=session, strake=hull.strakes["2"], **told)

    assert len(change.before) == 10
    assert session.photos.count() == 10
    assert {marked(one).strakes for one in session.photos.all()} == {(hull.strakes["2"],)}
    assert list(Photo.objects.filter(is_slate=True)) == [slate]


def test_slate_ends_where_the_next_slate_of_its_camera_begins(hull):
    slate, first = photo(hull), photo(hull, taken="2026-03-14T19:05:00")
    photo(hull, taken="2026-03-14T19:06:00", is_slate=True)
    photo(hull, taken="2026-03-14T19:07:00")

    assert after_slate(slate) == [first]


def test_slate_of_a_file_without_a_time_sorts_nothing(hull):
    photo(hull)

    assert after_slate(photo(hull, taken="")) == []


def test_slate_keeps_a_strake_that_was_marked_by_hand_and_is_undone_as_a_whole(hull, session, told):
    slate, one = photo(hull), photo(hull, taken="2026-03-14T19:05:00")
    one.marks.create(strake=hull.strakes["4"], side="port")
    before = states(slate, one)

    change = photo_changes.sort_by_slate(slate, [one], session=session, strake=hull.strakes["2"], **told)

    assert marked(one).strakes == (hull.strakes["4"],)
    photo_changes.undo_change(change, **told)
    assert states(slate, one) == before


# A camera's clock.


def test_clock_that_was_late_is_put_right_and_the_time_in_the_file_is_kept(hull, told):
    one, nameless = photo(hull), photo(hull, taken="")

    change = photo_changes.shift_clock(hull.build, [one, nameless], minutes=72, **told)

    one.refresh_from_db()
    assert (one.taken_local, one.taken_in_file) == ("2026-03-14T20:12:00", "2026-03-14T19:00:00")
    assert list(change.before) == [str(one.uuid)]
    photo_changes.undo_change(change, **told)
    one.refresh_from_db()
    assert (one.taken_local, one.taken_in_file) == ("2026-03-14T19:00:00", "")


def test_clock_put_right_twice_keeps_the_files_own_time(hull, told):
    one = photo(hull)

    photo_changes.shift_clock(hull.build, [one], minutes=72, **told)
    photo_changes.shift_clock(hull.build, [one], minutes=-12, **told)
    one.refresh_from_db()
    assert (one.taken_local, one.taken_in_file) == ("2026-03-14T20:00:00", "2026-03-14T19:00:00")

    photo_changes.shift_clock(hull.build, [one], minutes=-60, **told)
    one.refresh_from_db()
    assert (one.taken_local, one.taken_in_file) == ("2026-03-14T19:00:00", "")


def test_photograph_whose_date_changes_goes_to_the_session_of_its_right_date(hull, session, told):
    late = photo(hull, taken="2026-03-14T23:30:00", session=session)
    other = photo(hull, taken="2026-03-14T20:00:00", session=session)

    change = photo_changes.shift_clock(hull.build, [late, other], minutes=72, **told)

    late.refresh_from_db()
    other.refresh_from_db()
    assert late.session.local_date == date(2026, 3, 15)
    assert other.session == session
    photo_changes.undo_change(change, **told)
    late.refresh_from_db()
    assert late.session == session
    assert Session.objects.count() == 1


@pytest.mark.parametrize("years", [-40, 300, 9000])
def test_clock_set_to_a_time_of_no_photograph_is_refused(years):
    with pytest.raises(NotPossible, match="before 1990 or after 2200"):
        photo_changes.shifted(datetime(2026, 3, 14), timedelta(days=365 * years) // timedelta(minutes=1))


# One by itself.


def test_edit_renews_the_words_for_those_who_cannot_see_it_from_the_marks(hull, session, told):
    one = photo(hull)
    rows = {"session": session, "series": None, "caption": "clamped", "alt": "", "side": ""}

    photo_changes.edit_photo(one, 1, strakes=[hull.strakes["2"]], stations=hull.stations, **rows, **told)

    one.refresh_from_db()
    assert (one.version, one.alt) == (2, "port strake 2, station F to A, clamped")
    assert one.marks.count() == 3


def test_edit_of_an_older_version_is_a_conflict_that_carries_the_newer(hull, told):
    one = photo(hull)
    rows = {"strakes": [], "stations": [], "side": "", "session": None, "series": None, "alt": ""}
    photo_changes.edit_photo(one, 1, caption="theirs", **rows, **told)

    with pytest.raises(Conflict) as conflict:
        photo_changes.edit_photo(one, 1, caption="mine", **rows, **told)

    assert conflict.value.theirs.caption == "theirs"
    assert Photo.objects.get().caption == "theirs"


def test_edit_keeps_the_plank_of_a_strake_that_stays(hull, told):
    one = photo(hull)
    hang(hull, "1", NOW)
    plank = hull.strakes["1"].planks.get()
    one.marks.create(strake=hull.strakes["1"], plank=plank, side="port")
    rows = {"session": None, "series": None, "caption": "", "alt": "", "side": ""}

    photo_changes.edit_photo(one, 1, strakes=[hull.strakes["1"]], stations=[], **rows, **told)

    assert one.marks.get().plank == plank
