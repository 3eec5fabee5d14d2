"""One strake of a draft as it was seen, so that an edit can tell whether another was there first."""

import re
from itertools import pairwise
from string import ascii_lowercase, ascii_uppercase

from buildlog.models import Frame, PlanStrake

_WITH_LETTER = re.compile(r"(.*\d)([a-z])", re.IGNORECASE | re.ASCII)


def strake_as_seen(plan) -> str:
    """Return all that the page of a strake lets one change, as one line."""
    return f"{plan.label}|{plan.kind}|{plan.belt_id or ''}|{plan.spans}|{butts_of(plan)}|{plan.joins}"


def butts_of(plan) -> list[int]:
    """Return the numbers of the frames that two planks of the strake meet on, forward to aft."""
    planks = list(plan.planks.select_related("from_frame", "to_frame").order_by("order"))
    return [one.to_frame.number for one, other in pairwise(planks) if one.to_frame_id == other.from_frame_id]


def frames_of(build) -> list[Frame]:
    return list(Frame.objects.filter(build=build).order_by("number"))


def label_after(label, taken) -> str:
    """Return the next label with a letter that nobody has: 5a after 5, 3b after 3a, "" where there is none."""
    match = _WITH_LETTER.fullmatch(label)
    stem, last = match.groups() if match else (label, "")
    letters = ascii_uppercase if last.isupper() else ascii_lowercase
    folded = {one.casefold() for one in taken}
    tries = (stem + letter for letter in letters[letters.find(last) + 1 if last else 0 :])
    free = next((one for one in tries if one.casefold() not in folded), "")
    return free if len(free) <= PlanStrake._meta.get_field("label").max_length else ""
