"""Stretches of frames as they are typed: read, put in order, refused where two overlap."""

import pytest
from django.core.exceptions import ValidationError

from buildlog.forms.plan_strakes import read_spans, spans_in_words
from buildlog.models import Frame

FRAMES = [Frame(number=n, name={-17: "FH", 0: "⊗", 18: "AH"}.get(n, "")) for n in range(-17, 19)]


@pytest.mark.parametrize(
    ("typed", "spans"),
    [
        ("", []),
        ("FH to 5", [[-17, 5]]),
        ("8 to AH\nFH to 5", [[-17, 5], [8, 18]]),
        ("−16 to −3, 2 to 9", [[-16, -3], [2, 9]]),
        ("5 TO -3; 7 – 9", [[-3, 5], [7, 9]]),
        ("⊗ to 12", [[0, 12]]),
    ],
)
def test_stretches_are_read_forward_to_aft(typed, spans):
    assert read_spans(typed, FRAMES) == spans


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("FH to 5\n3 to 18", 'Stretches: "FH to 5" and "3 to 18" overlap.'),
        ("1 to 5\n5 to 9", 'Stretches: "1 to 5" and "5 to 9" overlap.'),
        ("12", 'Stretches: "12" is not read'),
        ("1 to 99", 'Stretches: there is no frame "99"; they go from FH to AH.'),
        (";".join(f"{n} to {n}" for n in range(-17, 18)), "Stretches: no strake has more than 20."),
    ],
)
def test_what_is_no_stretch_is_refused_in_a_sentence(typed, sentence):
    with pytest.raises(ValidationError) as refused:
        read_spans(typed, FRAMES)

    assert refused.value.messages[0].startswith(sentence)


def test_what_is_shown_is_read_back_alike():
    spans = [[-17, 5], [8, 18]]

    assert read_spans(spans_in_words(spans, FRAMES), FRAMES) == spans
