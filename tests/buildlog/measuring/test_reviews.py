"""What is kept of a review is the review itself."""

from buildlog.measuring.reviews import review_of
from buildlog.models import Review
from tests.hulls import LAID_DOWN, hang


def test_review_read_again_is_the_review_that_was_reckoned(hull):
    hang(hull, "1", LAID_DOWN)
    hang(hull, "5", LAID_DOWN)

    reckoned, read_again = review_of(hull.opening), review_of(hull.opening)

    assert Review.objects.count() == 1
    assert reckoned.stations
    assert read_again == reckoned


def test_two_pages_that_reckon_at_once_keep_one_review(hull, monkeypatch):
    from buildlog.measuring import reviews

    hang(hull, "1", LAID_DOWN)
    monkeypatch.setattr(reviews, "_standing", lambda opening: None)

    first, second = review_of(hull.opening), review_of(hull.opening)

    assert first == second
    assert Review.objects.count() == 1
