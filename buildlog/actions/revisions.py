"""A revision of two people: drafted, proposed, sent back or put in force by the owner's yes."""

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from buildlog.models import Opening, PlanRevision, PlanWidth
from buildlog.queries.plan_changes import changes_between
from buildlog.queries.planks import states_of_strakes
from buildlog.queries.revisions import in_the_way

from .conflict import Conflict, NotPossible
from .events import hold_build, tell_event
from .planks import revision_in_force
from .plans import copy_revision, delete_revision, put_in_force

State = PlanRevision.State


def begin_draft(build, *, person, now):
    """Begin a draft that says all that the revision in force says. One's own draft of it goes on instead."""
    with transaction.atomic():
        hold_build(build)
        standing = revision_in_force(build)
        if standing is None:
            raise NotPossible(_("There is no plan in force to draft from."))
        own = PlanRevision.objects.filter(build=build, state=State.DRAFT, proposed_by=person, based_on=standing)
        draft = own.order_by("-pk").first()
        if draft:
            return draft
        draft = copy_revision(standing, reason="", person=person, now=now)
        tell_event("drafted", draft, build=build, now=now, person=person)
    return draft


def propose(revision, version, *, reason, person, now, accepted_by_eye=False, photo=None):
    """Hand a draft to the owner, with its reason; ``version`` is the draft as it was seen."""
    with transaction.atomic():
        _must_differ(revision)
        _move(
            revision, version, State.DRAFT, State.PROPOSED, reason=reason, proposed_at=now, answer="",
            accepted_by_eye=accepted_by_eye, accepted_photo=photo,
        )  # fmt: skip
        tell_event("proposed", revision, build=revision.build, now=now, person=person, after={"reason": reason})
    return revision


def send_back(revision, version, *, words, person, now):
    """Make a proposal a draft again, with the owner's words; its author may take it back without any."""
    with transaction.atomic():
        _move(revision, version, State.PROPOSED, State.DRAFT, answer=words)
        tell_event("sent back", revision, build=revision.build, now=now, person=person, after={"words": words})
    return revision


def throw_away(revision, version, *, person, now):
    """Delete a draft or proposal. Nothing was ever cut to it, so nothing else is lost."""
    with transaction.atomic():
        hold_build(revision.build)
        held = _held(revision, version)
        if held.state not in (State.DRAFT, State.PROPOSED):
            raise NotPossible(_("A revision that was in force is kept for ever."))
        tell_event("thrown away", held, build=held.build, now=now, person=person, before={"reason": held.reason})
        delete_revision(held)


def accept_revision(revision, version, *, person, now):
    """Put a proposal, or the owner's own draft, in force. What stands in the way is said instead."""
    with transaction.atomic():
        hold_build(revision.build)
        # A strake that is being hung this moment ends first, or waits until the plan is decided.
        list(Opening.objects.select_for_update(no_key=True).filter(build=revision.build_id).order_by("pk"))
        held = _held(revision, version)
        if not held.reason.strip():
            raise NotPossible(_("Reason: say why the plan changes, so that it is known later."), field="reason")
        _must_differ(held)
        reasons = in_the_way(held)
        if reasons:
            raise NotPossible(" ".join(reasons))
        return put_in_force(held, person=person, now=now)


def accept_own_draft(revision, version, *, reason, accepted_by_eye, photo, person, now):
    """Put a draft in force without a proposal, with the reason that comes along; refused, nothing is written."""
    with transaction.atomic():
        _move(
            revision, version, State.DRAFT, State.DRAFT, reason=reason, accepted_by_eye=accepted_by_eye,
            accepted_photo=photo,
        )  # fmt: skip
        return accept_revision(revision, revision.version, person=person, now=now)


def bring_up_to_date(revision, version, *, person, now):
    """Lay a draft's own changes of widths and thickness onto the revision in force; return the new draft.

    Where both changed one cell the draft's figure stands; what was cut or hung meanwhile stays as it is.
    """
    with transaction.atomic():
        hold_build(revision.build)
        held = _held(revision, version)
        standing = revision_in_force(held.build)
        if held.state not in (State.DRAFT, State.PROPOSED) or standing is None:
            raise NotPossible(_("Only a draft can be brought up to date."))
        if held.based_on is None:
            raise NotPossible(_("This draft was made before a plan was in force, so it cannot be laid on one."))
        changes = changes_between(held.based_on, held)
        _must_be_figures_only(changes)
        fresh = copy_revision(
            standing, reason=held.reason, person=held.proposed_by, now=now, accepted_by_eye=held.accepted_by_eye
        )
        PlanRevision.objects.filter(pk=fresh.pk).update(accepted_photo=held.accepted_photo_id)
        _lay_again(fresh, changes)
        tell_event("brought up to date", fresh, build=held.build, now=now, person=person)
        delete_revision(held)
    return fresh


def _must_be_figures_only(changes):
    strakes = [strake for change in changes for strake in change.strakes]
    if any(strake.act != "changed" or strake.words for strake in strakes) or any(change.words for change in changes):
        raise NotPossible(
            _(
                "This draft changes more than widths: strakes, runs or limits. Note what it says, throw it away, "
                "and set that in a new draft."
            )
        )


def _lay_again(fresh, changes):
    plans = {plan.strake_id: plan for plan in fresh.strakes.all()}
    states = states_of_strakes(plans)
    for strake in (strake for change in changes for strake in change.strakes):
        if strake.strake_id not in plans or strake.strake_id in states:
            continue
        for cell in strake.cells:
            _lay_cell(plans[strake.strake_id], cell)


def _lay_cell(plan, cell):
    rows = PlanWidth.objects.filter(plan_strake=plan, station=cell.station)
    if cell.what == "thickness":
        rows.update(thickness_nm=cell.new_nm)
    elif cell.new_nm is None:
        rows.delete()
    elif not rows.update(width_nm=cell.new_nm, typed="", unit=""):
        PlanWidth.objects.create(plan_strake=plan, station=cell.station, width_nm=cell.new_nm)


def _must_differ(revision):
    if revision.based_on_id and not changes_between(revision.based_on, revision) and not revision.accepted_by_eye:
        raise NotPossible(_("This draft says just what the revision in force says. Change something first."))


def _held(revision, version) -> PlanRevision:
    held = PlanRevision.objects.select_for_update(no_key=True).filter(pk=revision.pk).first()
    if held is None:
        raise NotPossible(_("This draft was thrown away."))
    if held.version != version:
        raise Conflict(_("Somebody changed this while you looked. Look at it as it is now."), theirs=held)
    return held


def _move(revision, version, before, after, **changes):
    """Change a revision that still stands as it was seen, or raise a Conflict that carries it."""
    with transaction.atomic():
        seen = PlanRevision.objects.filter(pk=revision.pk, version=version, state=before)
        if not seen.update(state=after, version=F("version") + 1, **changes):
            theirs = PlanRevision.objects.filter(pk=revision.pk).first()
            raise Conflict(_("Somebody changed this while you looked. Look at it as it is now."), theirs=theirs)
    revision.refresh_from_db()
