"""Strakes of a draft: labels, stretches, the closing mark; nothing hung is relabelled or made another run."""

import pytest
from django.urls import reverse

from buildlog.actions.plans import copy_revision
from buildlog.models import PlanStrake, PlanWidth, Strake
from buildlog.queries.plan_strakes import strake_as_seen
from tests.hulls import hang


@pytest.fixture
def draft(hull, clock):
    return copy_revision(hull.revision, reason="another line", person=hull.person, now=clock())


def plan_of(hull, draft, label):
    return PlanStrake.objects.get(revision=draft, strake=hull.strakes[label])


def url(name, hull, draft, label):
    return reverse(name, args=[hull.build.uuid, draft.uuid, hull.strakes[label].uuid])


def add_url(hull, draft):
    return reverse("plan-strake-add", args=[hull.build.uuid, draft.uuid, hull.opening.uuid])


def change(browser, hull, draft, which, **changes):
    plan = plan_of(hull, draft, which)
    sent = {"label": plan.label, "kind": plan.kind, "spans": "", "belt": "", "seen": strake_as_seen(plan)}
    return browser.post(url("plan-strake-change", hull, draft, which), sent | changes)


def add(browser, hull, draft, **changes):
    sent = {"beside": str(hull.strakes["3"].uuid), "towards": "wale", "label": "3a", "kind": "full", "spans": "",
            "belt": ""}  # fmt: skip
    return browser.post(add_url(hull, draft), sent | changes)


def runs(draft):
    return dict(draft.strakes.order_by("position").values_list("label", "run"))


def test_strake_is_relabelled_in_the_draft_alone(client_of, owner, hull, draft):
    answer = change(client_of(owner), hull, draft, "2", label="2b")

    assert answer.status_code == 302
    assert plan_of(hull, draft, "2").label == "2b"
    assert hull.revision.strakes.get(strake=hull.strakes["2"]).label == "2"


def test_two_strakes_of_one_label_are_refused_by_name(client_of, owner, hull, draft):
    answer = change(client_of(owner), hull, draft, "2", label="4")

    assert answer.status_code == 409
    page = answer.content.decode()
    assert "this draft has a strake 4 already" in page
    assert 'value="4"' in page
    assert plan_of(hull, draft, "2").label == "2"


def test_hung_strake_is_not_relabelled(client_of, owner, hull, draft, clock):
    hang(hull, "1", clock())

    answer = change(client_of(owner), hull, draft, "1", label="9")

    assert answer.status_code == 409
    assert "Strake 1 is hung" in answer.content.decode()
    assert plan_of(hull, draft, "1").label == "1"


def test_stretches_are_kept_and_widths_outside_them_go(client_of, owner, hull, draft):
    """Frames F, M, A are numbered -1, 0, 1; from F to M the strake does not reach A."""
    change(client_of(owner), hull, draft, "2", kind="drop", spans="F to M")

    plan = plan_of(hull, draft, "2")
    assert (plan.kind, plan.spans) == ("drop", [[-1, 0]])
    assert sorted(PlanWidth.objects.filter(plan_strake=plan).values_list("station__name", flat=True)) == ["F", "M"]


@pytest.mark.parametrize(
    ("spans", "sentence"),
    [
        ("F to M\n0 to 1", "“0 to 1”|overlap"),
        ("F to Z", "there is no frame"),
        ("forward half", "is not read; write from which frame to which"),
    ],
)
def test_bad_stretches_are_refused_and_kept_on_the_screen(client_of, owner, hull, draft, spans, sentence):
    page = change(client_of(owner), hull, draft, "2", spans=spans).content.decode()

    assert sentence.split("|")[-1] in page
    assert spans in page
    assert plan_of(hull, draft, "2").spans == []


def test_drop_strake_without_a_stretch_is_asked_where_it_ends(client_of, owner, hull, draft):
    page = change(client_of(owner), hull, draft, "2", kind="drop").content.decode()

    assert "ends short; tell from which frame to which" in page


def test_two_people_on_one_strake_the_loser_sees_both(client_of, owner, builder, hull, draft):
    seen = strake_as_seen(plan_of(hull, draft, "2"))
    change(client_of(builder), hull, draft, "2", label="2c")

    answer = change(client_of(owner), hull, draft, "2", label="2d", seen=seen)

    page = answer.content.decode()
    assert answer.status_code == 409
    assert "It is now 2c" in page
    assert 'value="2d"' in page
    assert plan_of(hull, draft, "2").label == "2c"


def test_closing_mark_moved_changes_both_runs(client_of, owner, hull, draft):
    assert runs(draft) == {"1": "keel", "2": "keel", "3": "closing", "4": "wale", "5": "wale"}

    client_of(owner).post(url("plan-strake-close", hull, draft, "4"))

    assert runs(draft) == {"1": "keel", "2": "keel", "3": "keel", "4": "closing", "5": "wale"}


def test_closing_mark_does_not_pass_over_a_hung_strake(client_of, owner, hull, draft, clock):
    hang(hull, "4", clock())

    answer = client_of(owner).post(url("plan-strake-close", hull, draft, "5"), follow=True)

    assert "Strake 4 is in hand or hung in the other run" in answer.content.decode()
    assert runs(draft)["3"] == "closing"


def test_strake_added_on_the_wale_side_of_the_closing_one(client_of, owner, hull, draft):
    answer = add(client_of(owner), hull, draft)

    assert answer.status_code == 302
    order = list(draft.strakes.order_by("position").values_list("label", "run"))
    assert order == [("1", "keel"), ("2", "keel"), ("3", "closing"), ("3a", "wale"), ("4", "wale"), ("5", "wale")]


def test_nothing_goes_between_two_hung_strakes(client_of, owner, hull, draft, clock):
    hang(hull, "1", clock())
    hang(hull, "2", clock())

    answer = add(client_of(owner), hull, draft, beside=str(hull.strakes["1"].uuid))

    assert answer.status_code == 409
    assert "strakes 1 and 2 are hung side by side" in answer.content.decode()


def test_nothing_goes_behind_a_hung_garboard(client_of, owner, hull, draft, clock):
    hang(hull, "1", clock())

    answer = add(client_of(owner), hull, draft, beside=str(hull.strakes["1"].uuid), towards="keel")

    assert "strake 1 is hung against the keel" in answer.content.decode()


def test_added_strake_needs_a_label_of_its_own(client_of, owner, hull, draft):
    assert "this draft has a strake 5 already" in add(client_of(owner), hull, draft, label="5").content.decode()
    assert "Label: nothing was typed." in add(client_of(owner), hull, draft, label=" ").content.decode()


@pytest.mark.parametrize(
    ("standing", "typed", "offered"),
    [("4", "5", "such as 5a"), ("3a", "3a", "such as 3b"), ("3B", "3b", "such as 3C"), ("5a", "5", "such as 5b")],
)
def test_label_that_is_taken_offers_the_next_letter_that_is_free(
    client_of, owner, hull, draft, standing, typed, offered
):
    draft.strakes.filter(label="4").update(label=standing)

    page = add(client_of(owner), hull, draft, label=typed).content.decode()

    assert offered in page
    assert f'value="{typed}"' in page


@pytest.mark.parametrize("label", ["3z", "123456789012"])
def test_label_with_no_letter_after_it_is_offered_none(client_of, owner, hull, draft, label):
    draft.strakes.filter(label="4").update(label=label)

    page = add(client_of(owner), hull, draft, label=label).content.decode()

    assert f"this draft has a strake {label} already. Choose another." in page
    assert draft.strakes.count() == 5


def test_strake_left_out_stays_as_a_strake(client_of, owner, hull, draft):
    client_of(owner).post(url("plan-strake-leave-out", hull, draft, "2"))

    assert "2" not in runs(draft)
    assert Strake.objects.filter(pk=hull.strakes["2"].pk).exists()
    assert hull.revision.strakes.filter(strake=hull.strakes["2"]).exists()


def test_strake_of_this_draft_alone_is_gone_when_it_is_left_out(client_of, owner, hull, draft):
    sent = {"beside": hull.strakes["3"].uuid, "towards": "wale", "label": "3a", "kind": "full"}
    client_of(owner).post(reverse("plan-strake-add", args=[hull.build.uuid, draft.uuid, hull.opening.uuid]), sent)
    added = draft.strakes.get(label="3a").strake

    client_of(owner).post(reverse("plan-strake-leave-out", args=[hull.build.uuid, draft.uuid, added.uuid]))

    assert "3a" not in runs(draft)
    assert not Strake.objects.filter(pk=added.pk).exists()


@pytest.mark.parametrize("label", ["\u200b", "\u202e3"])
def test_label_that_cannot_be_seen_is_refused(client_of, owner, hull, draft, label):
    sent = {"beside": hull.strakes["3"].uuid, "towards": "wale", "label": label, "kind": "full"}
    where = reverse("plan-strake-add", args=[hull.build.uuid, draft.uuid, hull.opening.uuid])

    page = client_of(owner).post(where, sent).content.decode()

    assert "Label: it holds a sign that cannot be seen." in page
    assert set(runs(draft)) == set(runs(hull.revision))


@pytest.mark.parametrize(("label", "words"), [("1", "Strake 1 is hung"), ("3", "Strake 3 closes the opening")])
def test_what_cannot_be_left_out_stays_with_the_reason(client_of, owner, hull, draft, clock, label, words):
    hang(hull, "1", clock())

    answer = client_of(owner).post(url("plan-strake-leave-out", hull, draft, label), follow=True)

    assert words in answer.content.decode()
    assert label in runs(draft)


@pytest.mark.parametrize("name", ["plan-strake-leave-out", "plan-strake-close", "plan-strake-change"])
def test_only_who_may_plan_may_change_strakes(client_of, helper, reader, stranger, hull, draft, name):
    codes = [client_of(who).post(url(name, hull, draft, "2")).status_code for who in (helper, reader, stranger)]

    assert codes == [403, 403, 404]
    assert runs(draft) == runs(hull.revision)


def test_page_of_a_hung_strake_says_why_it_has_no_form(client_of, owner, hull, draft, clock):
    hang(hull, "1", clock())

    page = client_of(owner).get(url("plan-strake-change", hull, draft, "1")).content.decode()

    assert "Strake 1 is hung, so no plan changes it any more." in page
    assert 'name="label"' not in page


def frame_names(plan):
    return [(one.from_frame.name, one.to_frame.name) for one in plan.planks.order_by("order")]


def test_butts_are_planned_on_frames_and_the_page_shows_them_again(client_of, owner, hull, draft):
    """Frames F, M, A: a butt on M makes two planks."""
    browser = client_of(owner)

    change(browser, hull, draft, "2", butts="M", joins=" scarphed   8:1 ")

    plan = plan_of(hull, draft, "2")
    assert frame_names(plan) == [("F", "M"), ("M", "A")]
    assert plan.joins == "scarphed 8:1"
    page = browser.get(url("plan-strake-change", hull, draft, "2")).content.decode()
    assert 'name="butts" value="M"' in page
    change(browser, hull, draft, "2", butts="")
    assert frame_names(plan_of(hull, draft, "2")) == [("F", "A")]
    change(browser, hull, draft, "2", kind="drop", spans="F to M")
    assert frame_names(plan_of(hull, draft, "2")) == [("F", "M")]


@pytest.mark.parametrize(("butts", "sentence"), [
    ("5 1/2", "A butt needs a frame behind it"), ("F", "at F the strake ends"), ("M, M", "M is told twice"),
])  # fmt: skip
def test_a_butt_on_no_frame_is_asked_about_and_kept_on_the_screen(client_of, owner, hull, draft, butts, sentence):
    answer = change(client_of(owner), hull, draft, "2", butts=butts)

    page = answer.content.decode()
    assert sentence in page
    assert f'name="butts" value="{butts}"' in page
    assert frame_names(plan_of(hull, draft, "2")) == []


def test_a_new_strake_takes_its_butts_along(client_of, owner, hull, draft):
    add(client_of(owner), hull, draft, butts="M", joins="square")

    new = PlanStrake.objects.get(revision=draft, label="3a")
    assert (frame_names(new), new.joins) == ([("F", "M"), ("M", "A")], "square")


def test_butts_changed_by_another_meanwhile_are_a_conflict(client_of, owner, hull, draft):
    seen = strake_as_seen(plan_of(hull, draft, "2"))
    change(client_of(owner), hull, draft, "2", butts="M")

    assert change(client_of(owner), hull, draft, "2", joins="square", seen=seen).status_code == 409
