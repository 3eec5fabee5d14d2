"""What planking raises when something given to it cannot be read or used."""


class PlankingError(ValueError):
    """A plain sentence about one field, fit to be shown to the person who filled it in.

    `field` is the name of the field at fault as the caller called it ("width at M", "gaps_mm"); `sentence` is
    the whole sentence, and what `str()` gives.

    >>> refused = PlankingError("width at M", "Width at M cannot be below zero.")
    >>> str(refused), refused.field
    ('Width at M cannot be below zero.', 'width at M')
    """

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(field, sentence)
        self.field = field
        self.sentence = sentence

    def __str__(self) -> str:
        return self.sentence


def refusal(field: str, reason: str) -> PlankingError:
    """Return the refusal of one field as a whole sentence: the field, then what is wrong with it.

    >>> str(refusal("width at M", "is longer than any ship"))
    'Width at M is longer than any ship.'
    >>> str(refusal("gaps_mm", "nothing was typed"))
    'gaps_mm: nothing was typed.'
    """
    verbs = ("is ", "must ", "cannot ", "has ", "needs ", "would ", "holds ")
    # A key of a file is quoted as it stands; a name in words begins the sentence.
    name = field if "_" in field or "[" in field else field[:1].upper() + field[1:]
    return PlankingError(field, f"{name}{' ' if reason.startswith(verbs) else ': '}{reason}.")
