"""What is said of a draft: the photographs it may be shown by."""

from datetime import timedelta

from buildlog.forms.revisions import ReasonForm
from tests.factories import NOON, PhotoFactory


def test_photographs_of_one_day_are_told_apart_by_words_and_hour(hull):
    hull.build.time_zone = "Europe/Oslo"
    for minutes, words in ((0, {"file_name": "a.jpg"}), (1, {"file_name": ""}), (2, {"caption": "battens"})):
        PhotoFactory(build=hull.build, state="ready", received_at=NOON + timedelta(minutes=minutes), **words)

    choices = [words for value, words in ReasonForm(build=hull.build).fields["photo"].choices if value]

    assert choices == ["battens, 14 March 2026, 13:02", "14 March 2026, 13:01", "a.jpg, 14 March 2026, 13:00"]
