"""One strake of a draft as it was seen, so that an edit can tell whether another was there first."""

from itertools import pairwise

from buildlog.models import Frame


def strake_as_seen(plan) -> str:
    """Return all that the page of a strake lets one change, as one line."""
    return f"{plan.label}|{plan.kind}|{plan.belt_id or ''}|{plan.spans}|{butts_of(plan)}|{plan.joins}"


def butts_of(plan) -> list[int]:
    """Return the numbers of the frames that two planks of the strake meet on, forward to aft."""
    planks = list(plan.planks.select_related("from_frame", "to_frame").order_by("order"))
    return [one.to_frame.number for one, other in pairwise(planks) if one.to_frame_id == other.from_frame_id]


def frames_of(build) -> list[Frame]:
    return list(Frame.objects.filter(build=build).order_by("number"))
