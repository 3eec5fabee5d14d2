"""One strake of a draft as it was seen, so that an edit can tell whether another was there first."""

from buildlog.models import Frame


def strake_as_seen(plan) -> str:
    """Return all that the page of a strake lets one change, as one line."""
    return f"{plan.label}|{plan.kind}|{plan.belt_id or ''}|{plan.spans}"


def frames_of(build) -> list[Frame]:
    return list(Frame.objects.filter(build=build).order_by("number"))
