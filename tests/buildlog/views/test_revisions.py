"""A revision of two people: drafted, proposed, sent back, put in force; what differs and what stands in the way."""

import re

import pytest
from django.urls import reverse

from buildlog.actions.conflict import NotPossible
from buildlog.actions.revisions import begin_draft, propose
from buildlog.models import CardPrint, Event, Person, PlanRevision, PlanStrake, Strake
from buildlog.queries.plan_changes import changes_between
from buildlog.queries.revisions import draft_to_edit
from tests.drafts import LATER, MM, begin_narrowed, narrow, width
from tests.factories import CardPrintFactory, PhotoFactory
from tests.hulls import hang, lay_down_hull


@pytest.fixture
def at(hull):
    return lambda name, *args: reverse(name, args=[hull.build.uuid, *args])


@pytest.fixture
def draft(hull):
    return begin_narrowed(hull)


def said(browser, at, draft, **told):
    fresh = PlanRevision.objects.get(pk=draft.pk)
    sent = {"version": fresh.version, "reason": "It looked mean."} | told
    return browser.post(at("revision-propose", draft.uuid), sent)


def test_builder_drafts_and_proposes_and_the_owner_says_yes(hull, owner, builder, client_of, at):
    Person.objects.filter(build=hull.build, account=builder).update(display_name="Hesper")
    theirs = client_of(builder)
    edit = theirs.post(at("revision-new"))["Location"]
    draft = PlanRevision.objects.get(state="draft")
    narrow(draft, hull, "3", 4_900_000)
    said(theirs, at, draft)

    waits = theirs.get(at("revision-detail", draft.uuid)).content.decode()
    assert edit == at("revision-edit", draft.uuid)
    assert "It waits for the owner" in waits
    assert "was 5.00" in waits

    plan = client_of(owner).get(at("plan")).content.decode()
    draft.refresh_from_db()
    client_of(owner).post(at("revision-put", draft.uuid), {"version": draft.version})
    draft.refresh_from_db()
    assert "Hesper proposes another plan" in plan
    assert (draft.state, draft.number, draft.decided_by) == ("in_force", 2, hull.person)
    assert width(draft) == 4_900_000
    assert PlanRevision.objects.get(number=1).state == "past"


def test_helper_and_builder_cannot_put_in_force(hull, builder, helper, client_of, at, draft):
    for who in (builder, helper):
        answer = client_of(who).post(at("revision-put", draft.uuid), {"version": draft.version})
        assert answer.status_code == 403
    sneaked = said(client_of(builder), at, draft, put="1")

    assert sneaked.status_code == 403
    assert PlanRevision.objects.get(pk=draft.pk).state == "draft"


def test_owner_puts_own_draft_in_force_in_one_go(hull, owner, client_of, at, draft):
    answer = said(client_of(owner), at, draft, put="1")

    draft.refresh_from_db()
    assert answer.status_code == 302
    assert (draft.state, draft.reason) == ("in_force", "It looked mean.")


def test_reason_is_wanted_and_the_tick_is_kept(hull, owner, client_of, at, draft):
    page = said(client_of(owner), at, draft, reason="  ", accepted_by_eye="on").content.decode()

    assert "Why the plan changes: write a few words" in page
    assert "checked" in page
    assert PlanRevision.objects.get(pk=draft.pk).state == "draft"


def test_a_draft_that_says_nothing_new_is_not_proposed(hull, owner, client_of, at):
    empty = begin_draft(hull.build, person=hull.person, now=LATER)

    page = said(client_of(owner), at, empty)

    assert page.status_code == 409
    assert "Change something first." in page.content.decode()
    assert "It looked mean." in page.content.decode()


def test_putting_in_force_twice_is_said_plainly(hull, owner, client_of, at, draft):
    propose(draft, draft.version, reason="mean", person=hull.person, now=LATER)
    sent = {"version": draft.version}
    client_of(owner).post(at("revision-put", draft.uuid), sent)

    again = client_of(owner).post(at("revision-put", draft.uuid), sent)

    assert again.status_code == 409
    assert "Somebody changed this while you looked." in again.content.decode()
    assert PlanRevision.objects.filter(number__isnull=False).count() == 2


def test_loser_of_a_race_keeps_the_words_typed(hull, owner, client_of, at, draft):
    seen = draft.version
    narrow(draft, hull, "4", 4_950_000)

    page = client_of(owner).post(at("revision-propose", draft.uuid), {"version": seen, "reason": "typed for long"})

    assert page.status_code == 409
    assert "typed for long" in page.content.decode()
    assert f'name="version" value="{PlanRevision.objects.get(pk=draft.pk).version}"' in page.content.decode()


def test_a_proposal_goes_back_with_words_and_can_be_changed(hull, owner, client_of, at, draft):
    propose(draft, draft.version, reason="mean", person=hull.person, now=LATER)
    with pytest.raises(NotPossible):
        narrow(draft, hull, "4", 4_950_000)

    client_of(owner).post(at("revision-send-back", draft.uuid), {"version": draft.version, "words": "not at M"})

    draft.refresh_from_db()
    assert (draft.state, draft.answer) == ("draft", "not at M")
    assert "not at M" in client_of(owner).get(at("revision-detail", draft.uuid)).content.decode()
    narrow(draft, hull, "4", 4_950_000)


def test_a_strake_hung_meanwhile_stands_in_the_way_by_name_and_station(hull, owner, client_of, at, draft):
    hang(hull, "3", LATER)

    page = said(client_of(owner), at, draft, put="1")

    assert page.status_code == 409
    assert "Port 3 is cut or hung, and this plan changes it at M." in page.content.decode()
    assert PlanRevision.objects.get(state="in_force").number == 1


def test_another_builder_leaves_the_owners_proposal_alone(hull, builder, client_of, at, draft):
    propose(draft, draft.version, reason="mean", person=hull.person, now=LATER)

    answer = client_of(builder).post(at("revision-renew", draft.uuid), {"version": draft.version})

    assert answer.status_code == 403
    assert PlanRevision.objects.get(pk=draft.pk).state == "proposed"


def test_accepted_by_eye_without_a_photograph_wants_a_sentence(hull, owner, client_of, at, draft):
    page = said(client_of(owner), at, draft, reason="nice", accepted_by_eye="on").content.decode()

    assert "with no photograph, say what was seen" in page
    said(client_of(owner), at, draft, reason="Seen from the bow it runs sweeter", accepted_by_eye="on")
    assert PlanRevision.objects.get(pk=draft.pk).state == "proposed"


def test_words_of_who_proposed_too_late_are_on_the_page(hull, owner, client_of, at, draft):
    seen = draft.version
    propose(draft, draft.version, reason="first", person=hull.person, now=LATER)

    page = client_of(owner).post(at("revision-propose", draft.uuid), {"version": seen, "reason": "second words"})

    assert page.status_code == 409
    assert "second words" in page.content.decode()
    assert "First" in page.content.decode()


def test_a_refused_put_in_force_writes_nothing(hull, owner, client_of, at, draft):
    hang(hull, "3", LATER)

    said(client_of(owner), at, draft, reason="written in vain", put="1")

    assert PlanRevision.objects.get(pk=draft.pk).reason == ""


def test_throwing_a_draft_away_leaves_the_plan_and_its_history(hull, owner, builder, client_of, at, draft):
    theirs = client_of(builder).post(at("revision-throw-away", draft.uuid), {"version": draft.version})
    client_of(owner).post(at("revision-throw-away", draft.uuid), {"version": draft.version})

    assert theirs.status_code == 403
    assert list(PlanRevision.objects.values_list("state", flat=True)) == ["in_force"]
    assert Event.objects.filter(verb="thrown away", uuid=draft.uuid).exists()


def test_a_plan_that_does_not_close_says_so_before_it_is_put_in_force(hull, owner, client_of, at, draft):
    """Strake 3 is 0.10 narrower at M, and a strake 3a is added that has no widths."""
    place = reverse("plan-strake-add", args=[hull.build.uuid, draft.uuid, hull.opening.uuid])
    sent = {"beside": hull.strakes["3"].uuid, "towards": "wale", "label": "3a", "kind": "full"}
    client_of(owner).post(place, sent)

    page = client_of(owner).get(at("revision-detail", draft.uuid)).content.decode()
    page = " ".join(re.sub("<[^>]+>", "", page).split())

    assert "Port does not close to zero: short by 0.100 at M. Strake 3a has no widths yet." in page


def test_a_plan_that_closes_says_nothing_of_sums(hull, owner, client_of, at, draft):
    narrow(draft, hull, "4", 5_100_000)

    assert "close to zero" not in client_of(owner).get(at("revision-detail", draft.uuid)).content.decode()


def test_a_revision_in_force_cannot_be_thrown_away(hull, owner, client_of, at):
    sent = {"version": hull.revision.version}
    page = client_of(owner).post(at("revision-throw-away", hull.revision.uuid), sent)

    assert page.status_code == 409
    assert "kept for ever" in page.content.decode()


def test_cards_are_named_before_they_are_old_and_after(hull, owner, client_of, at, draft):
    plan = hull.strakes["3"].plans.get(revision=hull.revision)
    CardPrintFactory(plan_strake=plan, code="mean3", widths={"M": 5 * MM})
    CardPrintFactory(
        plan_strake=hull.strakes["4"].plans.get(revision=hull.revision), code="same4", widths={"M": 5 * MM}
    )

    before = client_of(owner).get(at("revision-detail", draft.uuid)).content.decode()
    said(client_of(owner), at, draft, put="1")
    after = client_of(owner).get(at("revision-detail", draft.uuid)).content.decode()

    assert all(said in before for said in ("Cards this makes old", "mean3"))
    assert "same4" not in before
    assert all(said in after for said in ("Cards this made old", "mean3", "Print again"))
    assert CardPrint.objects.get(code="same4").voided_at is None


def test_page_of_a_draft_compares_it_once(hull, owner, client_of, at, draft, monkeypatch):
    compared = []

    def counted(*revisions):
        compared.append(revisions)
        return changes_between(*revisions)

    for room in ("views", "queries"):
        monkeypatch.setattr(f"buildlog.{room}.revisions.changes_between", counted)
    hang(hull, "3", LATER)

    page = client_of(owner).get(at("revision-detail", draft.uuid)).content.decode()

    assert compared == [(hull.revision, draft)]
    assert "Port 3 is cut or hung, and this plan changes it at M." in page


def test_accepted_by_eye_keeps_its_photograph_and_says_what_it_means(hull, owner, client_of, at, draft):
    photo = PhotoFactory(build=hull.build, state="ready", caption="battens from the bow")
    said(client_of(owner), at, draft, put="1", accepted_by_eye="on", photo=photo.uuid)

    page = client_of(owner).get(at("revision-detail", draft.uuid)).content.decode()

    assert PlanRevision.objects.get(pk=draft.pk).accepted_photo == photo
    assert "what is cut to this plan is judged by it" in page
    assert "accepted by eye" in client_of(owner).get(at("revision-list")).content.decode()


def test_photograph_of_another_build_is_refused(hull, owner, stranger, client_of, at, draft):
    other = lay_down_hull(stranger, name="Another hull")
    photo = PhotoFactory(build=other.build, state="ready")

    page = said(client_of(owner), at, draft, accepted_by_eye="on", photo=photo.uuid).content.decode()

    assert "choose one of this build" in page
    assert PlanRevision.objects.get(pk=draft.pk).state == "draft"


def test_reader_sees_numbered_revisions_and_no_drafts(hull, reader, client_of, at, draft):
    page = client_of(reader).get(at("revision-list")).content.decode()

    assert "Revision 1" in page
    assert "Draft of" not in page
    assert client_of(reader).get(at("revision-detail", draft.uuid)).status_code == 403
    assert client_of(reader).get(at("revision-detail", hull.revision.uuid)).status_code == 200


def test_draft_of_another_build_is_not_found(hull, owner, stranger, client_of, at):
    other = lay_down_hull(stranger, name="Another hull")
    draft = begin_draft(other.build, person=other.person, now=LATER)

    assert client_of(owner).get(at("revision-detail", draft.uuid)).status_code == 404
    assert draft_to_edit(hull.build, draft.uuid) is None
    assert draft_to_edit(other.build, draft.uuid) == draft


def test_a_strake_of_a_draft_alone_is_nothing_to_cut_yet(hull, owner, client_of, at, draft):
    strake = Strake.objects.create(opening=hull.opening)
    PlanStrake.objects.create(
        revision=draft, opening=hull.opening, strake=strake, label="9z", position=99, run="wale"
    )

    for page in ("card-detail", "widths-record", "strake-detail"):
        assert client_of(owner).get(at(page, strake.uuid)).status_code == 404
