"""The words of a card: the same while it tells the same, others as soon as anything on it changes."""

import re

import pytest

from buildlog.actions import plans
from buildlog.models import Frame, PlanPlank, Station
from buildlog.queries.check_words import check_words
from buildlog.queries.cut_cards import cut_card_of, datum_edge, place_of_frame
from tests.factories import MM, NOON


def _card(hull, revision=None, label="1"):
    return cut_card_of(hull.build, hull.strakes[label], revision or hull.revision)


def _revise(hull, change, source=None):
    """Put a copy of a revision in force after ``change`` had its way with strake 1."""
    revision = plans.copy_revision(source or hull.revision, reason="a change", person=hull.person, now=NOON)
    change(revision.strakes.get(label="1"))
    return plans.put_in_force(revision, person=hull.person, now=NOON)


def _narrower(plan):
    width = plan.widths.first()
    width.width_nm = round(4.4 * MM)
    width.save()


def _butt(plan):
    frames = list(plan.revision.build.frames.order_by("number"))
    for order, (first, last) in enumerate([(frames[0], frames[1]), (frames[1], frames[2])], start=1):
        PlanPlank.objects.create(plan_strake=plan, order=order, from_frame=first, to_frame=last)


def _other_run(plan):
    plan.run = "wale"
    plan.save()


def _thicker(plan):
    plan.widths.update(thickness_nm=round(1.4 * MM))


@pytest.mark.parametrize("change", [_narrower, _butt, _other_run, _thicker])
def test_words_change_with_anything_the_card_tells(hull, change):
    before = _card(hull).words

    revision = _revise(hull, change)

    assert _card(hull, revision).words != before


def test_words_stay_through_a_revision_that_leaves_the_strake_alone(hull):
    before = {label: _card(hull, label=label).words for label in hull.strakes}

    revision = _revise(hull, _narrower)

    after = {label: _card(hull, revision, label).words for label in hull.strakes}
    assert [label for label in before if before[label] != after[label]] == ["1"]


def test_card_changed_and_changed_back_does_not_get_its_first_words_again(hull):
    """A card that was thrown away in between must not come back as current."""
    first = _card(hull).words
    narrow = _revise(hull, _narrower)

    back = _revise(hull, lambda plan: plan.widths.update(width_nm=5 * MM), source=narrow)

    assert _card(hull, back).words not in (first, _card(hull, narrow).words)


def test_words_are_two_plain_words_and_always_the_same():
    assert check_words("3:port 9") == check_words("3:port 9")
    assert re.fullmatch(r"[a-z]+ [a-z]+", check_words("3:port 9"))


def test_words_of_a_thousand_cards_seldom_meet():
    words = [check_words(f"1:card {number}") for number in range(1000)]

    # 129 x 135 pairs: a thousand cards share about 28 by chance (n squared over twice the pairs).
    assert len(set(words)) > 940


def test_strakes_of_one_plan_differ_though_their_widths_are_alike(hull):
    words = [_card(hull, label=label).words for label in hull.strakes]

    assert len(set(words)) == 5


def test_pieces_carry_side_strake_and_number(hull):
    _butt(hull.revision.strakes.get(label="1"))

    card = _card(hull)

    assert card.pieces == ["P1-1", "P1-2"]
    assert [butt.words for butt in card.butts] == ["at M"]


@pytest.mark.parametrize(
    ("frame", "words"),
    [
        (-8, "at H"), (-6, "midway between H and D"), (-3, "1 frame aft of D"), (-5, "1 frame forward of D"),
        (9, "1 frame aft of 8"), (10, "2 frames aft of 8"), (-12, "4 frames forward of H"),
    ],
)  # fmt: skip
def test_butt_is_told_from_the_stations_not_by_the_number_of_a_frame(frame, words):
    stations = [
        Station(name=name, frame=Frame(number=number), position=number)
        for name, number in {"H": -8, "D": -4, "⊗": 0, "4": 4, "8": 8}.items()
    ]

    assert place_of_frame(Frame(number=frame), stations) == words


def test_butt_of_a_drawing_is_told_in_fewer_letters():
    """A third line of words under the plank would push the printed card on a second sheet."""
    stations = [Station(name=n, frame=Frame(number=at), position=at) for n, at in {"H": -8, "D": -4}.items()]

    assert place_of_frame(Frame(number=-6), stations, is_short=True) == "midway H to D"
    assert place_of_frame(Frame(number=-5), stations, is_short=True) == "1 frame forward of D"


def test_frame_of_a_name_of_its_own_keeps_it():
    stations = [Station(name="M", frame=Frame(number=0), position=0)]

    assert place_of_frame(Frame(number=2, name="7a"), stations) == "at 7a"
    assert place_of_frame(Frame(number=-2), []) == "at frame −2"


def test_width_before_is_told_only_until_the_first_strake_is_cut_to_the_new_plan(hull):
    from buildlog.actions.planks import cut_strake

    revision = _revise(hull, _narrower)
    fresh = [line.was_nm for line in _card(hull, revision).lines]
    cut_strake(hull.strakes["2"], person=hull.person, now=NOON)

    assert fresh == [5 * MM, None, None]
    assert [line.was_nm for line in _card(hull, revision).lines] == [None, None, None]


@pytest.mark.parametrize(("run", "edge"), [("keel", "keel"), ("wale", "wale"), ("closing", "keel")])
def test_widths_start_at_the_edge_that_is_fitted(run, edge):
    assert datum_edge(run) == edge
