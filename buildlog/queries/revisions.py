"""The plan's revisions: drafts, proposals, the one in force, the past; what stands in the way of one."""

from dataclasses import dataclass

from django.db.models import Q
from django.utils.translation import gettext as _

from buildlog.models import CardPrint, Plank, PlanRevision

from .plan_changes import changes_between
from .plan_widths import StationSum, draft_opening, locked_because
from .planks import states_of_strakes
from .plans import openings_of, revision_in_force

OPEN_STATES = [PlanRevision.State.DRAFT, PlanRevision.State.PROPOSED]


def draft_to_edit(build, uuid) -> PlanRevision | None:
    """Return a draft of a build by its uuid, or None where it is no draft (any more)."""
    return PlanRevision.objects.filter(build=build, uuid=uuid, state=PlanRevision.State.DRAFT).first()


def revisions_of(build) -> list[PlanRevision]:
    """Return all revisions: what is open first, then by number, newest first."""
    rows = PlanRevision.objects.filter(build=build).select_related("proposed_by", "decided_by", "based_on")
    return sorted(rows, key=lambda one: (one.number is not None, -(one.number or 0), -one.pk))


def open_revisions(build) -> list[PlanRevision]:
    """Return the drafts and proposals, a proposal first, then the newest."""
    rows = PlanRevision.objects.filter(build=build, state__in=OPEN_STATES).select_related("proposed_by")
    return list(rows.order_by("-state", "-pk"))


def revision_before(revision) -> PlanRevision | None:
    """Return what a revision is compared with: the one it was made from, else the number before its own."""
    if revision.number:
        return PlanRevision.objects.filter(build=revision.build_id, number=revision.number - 1).first()
    return revision.based_on


def in_the_way(revision, changes=None) -> list[str]:
    """Return why a draft or proposal cannot be put in force, one sentence a reason; empty where it can.

    ``changes`` are those of the revision against the one it is based on, where a page has them already.
    """
    standing = revision_in_force(revision.build)
    if standing is None:
        return []
    reasons = []
    if changes is None or revision.based_on_id != standing.pk:
        changes = changes_between(standing, revision)
    if revision.based_on_id != standing.pk:
        reasons.append(
            _("It was made from revision %(old)s; revision %(new)s is in force since. Bring it up to date first.")
            % {"old": revision.based_on.number if revision.based_on else "–", "new": standing.number}
        )
    return reasons + _locked(changes)


def _locked(changes) -> list[str]:
    """What is cut or hung stays as it was planned: the plank row says so."""
    strakes = [strake for change in changes for strake in change.strakes]
    states = states_of_strakes([strake.strake_id for strake in strakes])
    found = []
    for strake in strakes:
        state = states.get(strake.strake_id)
        if state is None or state.state not in Plank.IN_PLACE:
            continue
        name = f"{strake.opening.get_side_display()} {strake.label}"
        if strake.cells:
            at = strake.cells[0].station.name
            found.append(
                _("%(strake)s is cut or hung, and this plan changes it at %(at)s.") % {"strake": name, "at": at}
            )
        elif strake.act != "changed" or strake.words:
            found.append(_("%(strake)s is cut or hung, and this plan changes it.") % {"strake": name})
    return found


@dataclass(frozen=True)
class LooseEnds:
    """What of one opening is not planned to its end: the station that is off the most, how many are, bare strakes."""

    opening: object
    worst: StationSum | None
    stations: int
    bare: list[str]


def loose_ends(revision) -> list[LooseEnds]:
    """Return the openings of a draft that do not close to zero, or hold a strake without any width."""
    found = []
    for opening in openings_of(revision.build):
        draft = draft_opening(revision, opening)
        off = [one for one in draft.sums() if one.left_nm]
        bare = [one.label for one in draft.strakes if not one.widths and not locked_because(one)]
        if off or bare:
            worst = max(off, key=lambda one: one.short_or_over_nm, default=None)
            found.append(LooseEnds(opening, worst, len(off), bare))
    return found


def cards_standing(build, strakes) -> list[CardPrint]:
    """Return the printed cards of some strakes (pks) that hold as yet: new widths would make them old."""
    cards = CardPrint.objects.filter(
        plan_strake__revision__build=build, plan_strake__strake__in=strakes, thrown_away_at=None, voided_at=None
    )
    rows = cards.select_related("plan_strake__strake", "plan_strake__opening", "plan_strake__revision")
    return list(rows.order_by("-plan_strake__position", "pk"))


def cards_made_void(revision) -> list[CardPrint]:
    """Return the printed cards that this revision makes old, or made old when it came in force."""
    cards = CardPrint.objects.filter(plan_strake__revision__build=revision.build, thrown_away_at__isnull=True)
    cards = cards.select_related("plan_strake__strake", "plan_strake__opening", "plan_strake__revision")
    if revision.number:
        of_then = Q(voided_at=revision.in_force_from)
        return list(cards.filter(of_then).order_by("-plan_strake__position", "pk"))
    cards = list(cards.filter(voided_at__isnull=True).order_by("-plan_strake__position", "pk"))
    printed = revision.strakes.filter(strake__in=[card.plan_strake.strake_id for card in cards])
    plans = {plan.strake_id: plan for plan in printed.prefetch_related("widths__station")} if cards else {}
    found = []
    for card in cards:
        plan = plans.get(card.plan_strake.strake_id)
        says = {width.station.name: width.width_nm for width in plan.widths.all()} if plan else {}
        if plan is None or any(says.get(name) != nm for name, nm in card.widths.items()):
            found.append(card)
    return found


