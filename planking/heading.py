"""Where the planking is heading, in one sentence: what is said when a strake's widths are saved.

What, where, how much, what follows, what can be done, the number early. Whatever is less than its own doubt
is not said: a builder who is told every hundredth soon reads none.
"""

from planking import words
from planking.reviewed import OpeningReview, StationReview


def heading(review: OpeningReview) -> str:
    """Return the sentence for an opening, or nothing where all that could be said is less than its doubt.

    The station named is the one where the strakes left must give up (or take on) the most, seams and all;
    dead flat is told beside it where it is another. Lengths in mm.

    >>> from planking.drift import review
    >>> from planking.opening import GapReading, Opening, Station, Strake
    >>> strakes = tuple(Strake(label, "closing" if label == "2" else "wale", {"D": 5.0}) for label in "123")
    >>> gaps = (GapReading("D", 14.7, frozenset(), 0.05),)
    >>> said = heading(review(Opening("port", (Station("D"),), strakes, gaps=gaps, u_seam_mm=0.001)))
    >>> said.partition(":")[0], said.partition("; ")[2]
    ('The gap is short by 0.30 at D', 'spread over strakes 3 to 1 each is 0.14 narrower.')
    """
    told = [one for one in review.stations if _is_beyond_doubt(one)]
    if not told:
        return ""
    worst = next((one for one in told if one.station == review.worst), None)
    worst = worst or max(told, key=lambda one: abs(one.to_take_up_mm or 0.0))
    if len(worst.left) == 1:
        return _made_to_gap(worst)
    flat = next((one for one in told if one.station == review.also and one is not worst), None)
    return f"{_short(worst, flat)}: {_alone(worst)}; {_what_to_do(review, worst)}."


def _is_beyond_doubt(one: StationReview) -> bool:
    take_up = one.to_take_up_mm
    if not one.left or take_up is None or one.left_alone_mm is None or one.closing_planned_mm is None:
        return False
    return round(abs(take_up), 2) > round(one.doubt_mm, 2)


def _made_to_gap(one: StationReview) -> str:
    wanted, planned = words.room(one.left_alone_mm or 0.0), words.mm(one.closing_planned_mm or 0.0)
    leaves = f"{wanted} at {words.station(one.station)} is what the gap leaves for strake {one.closing}"
    return f"{leaves}, planned {planned}: make it to the gap."


def _short(worst: StationReview, flat: StationReview | None) -> str:
    """Return how much the gap is short or over; where only seams, or a strake cut proud, have no room, that."""
    short, place = worst.short_mm or 0.0, words.station(worst.station)
    take_up = worst.to_take_up_mm or 0.0
    if not round(abs(short), 2) or short * take_up < 0:
        way = "more than the gap has" if take_up > 0 else "less than the gap has"
        return f"The strakes left and their seams take {words.mm(abs(take_up))} {way} at {place}"
    said = f"The gap is {words.short(short)} at {place}"
    other = 0.0 if flat is None else flat.short_mm or 0.0
    if flat is not None and other * short > 0 and round(abs(other), 2):
        said += f", {words.mm(abs(other))} at {words.station(flat.station)}"
    return said


def _alone(one: StationReview) -> str:
    alone, planned = words.would_be(one.left_alone_mm or 0.0), words.mm(one.closing_planned_mm or 0.0)
    return f"left alone, strake {one.closing} would {alone}, planned {planned}"


def _what_to_do(review: OpeningReview, one: StationReview) -> str:
    if one.verdict == "measure_gap":
        return f"give or take {words.mm(one.doubt_mm)}, so read the gap before the next is cut"
    if one.verdict == "carry_on":
        return f"{words.mm(one.step_limit_mm or 0.0)} is forgiven, so carry on"
    if review.verdict == "change_plan":
        if not review.counts_that_would_do:
            return "change the plan, for no whole number of strakes fits inside your limits"
        number = words.count(review.counts_that_would_do[0].strakes_left, "strake")
        return f"change the plan, {number} left would do"
    each = words.less(one.even[0].planned_mm, one.even[0].even_mm) if one.even else 0.0
    if not each:
        return "the strakes left need no other widths"
    labels = words.strakes([width.strake for width in one.even])
    if len(one.even) == 1:
        return f"{labels} alone takes it up, {words.mm(abs(each))} {'narrower' if each > 0 else 'wider'}"
    return f"spread over {labels} each is {words.mm(abs(each))} {'narrower' if each > 0 else 'wider'}"
