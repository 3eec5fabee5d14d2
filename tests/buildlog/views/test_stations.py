"""Stations: how many, their names, the widest, and how far apart they stand."""

import pytest
from django.urls import reverse

from buildlog.actions.builds import set_sides, set_station_count, start_build
from buildlog.actions.readings import record_reading
from buildlog.models import Frame, Station


@pytest.fixture
def begun(owner, clock):
    build = start_build(owner, name="Orlawen", now=clock())
    person = build.people.get()
    set_sides(build, build.version, sides="port", layers=1, layer=1, runs="both", person=person, now=clock())
    return build


@pytest.fixture
def counted(begun, clock):
    person = begun.people.get()
    set_station_count(begun, begun.version, count=5, frame_word="frame", person=person, now=clock())
    return begun


def names_of(build, **changes):
    typed = {f"name_{i}": name for i, name in enumerate(["Q", "H", "⊗", "8", "16"])}
    return typed | {"dead_flat": "2", "version": build.version} | changes


def post(browser, name, build, typed):
    return browser.post(reverse(name, args=[build.uuid]), typed)


@pytest.mark.parametrize(
    ("how_many", "other", "count"),
    [("3", "", 3), ("5", "", 5), ("9", "", 9), ("other", "7", 7), ("5", "7", 7)],
)
def test_count_may_be_one_of_three_or_any_other(client_of, begun, owner, how_many, other, count):
    typed = {"how_many": how_many, "other": other, "word": "bulkhead", "version": begun.version}

    answer = post(client_of(owner), "station-count", begun, typed)

    begun.refresh_from_db()
    assert answer.status_code == 302
    assert (begun.first_run["count"], begun.frame_word) == (count, "bulkhead")


def test_count_promises_no_place_that_nothing_adds(client_of, begun, owner):
    page = client_of(owner).get(reverse("station-count", args=[begun.uuid])).content.decode()

    assert "added later" not in page
    assert "Once there is a plan no place can be added" in page


@pytest.mark.parametrize(
    ("other", "sentence"),
    [
        ("", "How many, if other: write the number, such as 7."),
        ("1", "How many, if other: two at least, one towards each end."),
        ("41", "How many, if other: 40 at most."),
        ("seven", "How many, if other: write a whole number, such as 7."),
        ("-5", "How many, if other: two at least, one towards each end."),
    ],
)
def test_count_that_cannot_be_is_refused_and_kept(client_of, begun, owner, other, sentence):
    typed = {"how_many": "other", "other": other, "word": "frame", "version": begun.version}

    answer = post(client_of(owner), "station-count", begun, typed)

    assert answer.context["form"].errors["other"] == [sentence]
    assert answer.context["form"]["other"].value() == other


def test_seven_bulkheads_are_numbered_from_the_bow(client_of, begun, owner):
    browser = client_of(owner)
    post(browser, "station-count", begun,
         {"how_many": "other", "other": "7", "word": "bulkhead", "version": begun.version})  # fmt: skip

    form = browser.get(reverse("station-names", args=[begun.uuid])).context["form"]

    assert [form[f"name_{i}"].value() for i in range(7)] == ["1", "2", "3", "4", "5", "6", "7"]
    assert form["dead_flat"].value() == 3


def test_names_make_stations_with_frames_numbered_from_dead_flat(client_of, counted, owner):
    post(client_of(owner), "station-names", counted, names_of(counted))

    stations = list(Station.objects.select_related("frame"))
    assert [s.name for s in stations] == ["Q", "H", "⊗", "8", "16"]
    assert [s.frame.number for s in stations] == [-2, -1, 0, 1, 2]
    assert [s.is_dead_flat for s in stations] == [False, False, True, False, False]
    assert [s.x_nm for s in stations] == [None] * 5


def test_first_distance_alone_speaks_for_all(client_of, counted, owner):
    post(client_of(owner), "station-names", counted, names_of(counted, distance_0="50"))

    assert [s.x_nm for s in Station.objects.all()] == [-100_000_000, -50_000_000, 0, 50_000_000, 100_000_000]


def test_each_distance_may_be_its_own(client_of, counted, owner):
    apart = {"distance_0": "40", "distance_1": "50", "distance_2": "2 in", "distance_3": "60"}

    post(client_of(owner), "station-names", counted, names_of(counted, **apart))

    assert [s.x_nm for s in Station.objects.all()] == [
        -90_000_000, -50_000_000, 0, 50_800_000, 110_800_000,
    ]  # fmt: skip


def test_two_distances_of_four_are_asked_for_in_full(client_of, counted, owner):
    answer = post(
        client_of(owner), "station-names", counted, names_of(counted, distance_0="40", distance_2="50")
    )

    assert answer.context["form"].errors == {
        "distance_1": [
            "Distance from H to ⊗: write all of them, only the first where all are alike, or none."
        ]
    }
    assert answer.context["form"]["distance_2"].value() == "50"
    assert not Station.objects.exists()


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        ({"name_1": ""}, "name_1", "Name of place 2: nothing was typed."),
        ({"name_1": "Q"}, "name_1", 'Name of place 2: "Q" is the name of place 1 already.'),
        ({"name_1": "x" * 21}, "name_1", "Name of place 2: 20 characters at most."),
        ({"name_1": "a\u200bb"}, "name_1", "Name of place 2: it holds a character that cannot be seen."),
        ({"dead_flat": "9"}, "dead_flat", "The widest place: choose one of the places."),
        ({"distance_0": "-4"}, "distance_0", "Distance from Q to H cannot be below zero."),
    ],
)
def test_name_that_will_not_do_is_refused_by_its_place(client_of, counted, owner, changes, field, sentence):
    answer = post(client_of(owner), "station-names", counted, names_of(counted, **changes))

    assert answer.context["form"].errors[field] == [sentence]
    assert not Station.objects.exists()


def test_two_names_may_change_places(client_of, counted, owner):
    browser = client_of(owner)
    post(browser, "station-names", counted, names_of(counted))
    counted.refresh_from_db()

    post(browser, "station-names", counted, names_of(counted, name_0="H", name_1="Q"))

    assert [s.name for s in Station.objects.all()] == ["H", "Q", "⊗", "8", "16"]


def test_dead_flat_moved_numbers_the_frames_anew(client_of, counted, owner):
    browser = client_of(owner)
    post(browser, "station-names", counted, names_of(counted))
    counted.refresh_from_db()

    post(browser, "station-names", counted, names_of(counted, dead_flat="3"))

    assert sorted(Frame.objects.values_list("number", flat=True)) == [-3, -2, -1, 0, 1]


def test_another_count_makes_room_for_other_stations(client_of, counted, owner):
    browser = client_of(owner)
    post(browser, "station-names", counted, names_of(counted))
    counted.refresh_from_db()

    post(browser, "station-count", counted,
         {"how_many": "3", "other": "", "word": "frame", "version": counted.version})  # fmt: skip

    assert not Station.objects.exists()


def test_stations_of_a_planned_hull_are_renamed_and_keep_their_frames(client_of, hull, owner):
    frames = [s.frame_id for s in hull.stations]
    typed = {
        "name_0": "Fore",
        "name_1": "M",
        "name_2": "Aft",
        "dead_flat": "1",
        "version": hull.build.version,
    }

    answer = post(client_of(owner), "station-names", hull.build, typed)

    assert answer["Location"] == reverse("plan", args=[hull.build.uuid])
    stations = list(Station.objects.select_related("frame"))
    assert [s.name for s in stations] == ["Fore", "M", "Aft"]
    assert [s.frame_id for s in stations] == frames
    assert [s.frame.number for s in stations] == [-1, 0, 1]
    assert [s.x_nm for s in stations] == [-100_000_000, 0, 100_000_000]


def test_count_of_a_planned_hull_is_not_asked_again(client_of, hull, owner):
    answer = client_of(owner).get(reverse("station-count", args=[hull.build.uuid]))

    assert answer["Location"] == reverse("plan", args=[hull.build.uuid])


def test_saving_the_names_again_moves_no_station(client_of, hull, owner):
    """27.516667 mm is no round figure; what the page shows must come back as it was."""
    browser = client_of(owner)
    for station, x_nm in zip(hull.stations, (-27_516_667, 0, 55_033_333), strict=True):
        Station.objects.filter(pk=station.pk).update(x_nm=x_nm)
    form = browser.get(reverse("station-names", args=[hull.build.uuid])).context["form"]

    post(browser, "station-names", hull.build, {name: form[name].value() for name in form.fields})

    assert [s.x_nm for s in Station.objects.all()] == [-27_516_667, 0, 55_033_333]


def test_station_something_was_read_at_is_not_thrown_away(client_of, counted, owner, clock):
    browser = client_of(owner)
    post(browser, "station-names", counted, names_of(counted))
    counted.refresh_from_db()
    record_reading(
        counted, client_uuid=counted.uuid, now=clock(), kind="gap", opening=counted.openings.get(),
        station=Station.objects.first(), value_nm=20_000_000, typed="20", unit="mm", method="paper_strip",
    )  # fmt: skip

    typed = {"how_many": "3", "other": "", "word": "frame", "version": counted.version}
    answer = post(browser, "station-count", counted, typed)

    assert answer.context["form"].non_field_errors() == [
        "Something was read there already, so it stays as it is."
    ]
    counted.refresh_from_db()
    assert (counted.first_run["count"], Station.objects.count()) == (5, 5)
