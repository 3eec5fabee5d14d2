"""Where the planking of an opening is heading, and what to do, in one sentence."""

from planking.heading import heading
from planking.reviewed import OpeningReview


def heading_of(review: OpeningReview | None) -> str:
    """Return the sentence, or nothing where all that could be said is less than its doubt."""
    return heading(review) if review else ""
