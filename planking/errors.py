"""What planking raises when something given to it cannot be read or used."""


class PlankingError(ValueError):
    """A plain sentence about one field, fit to be shown to the person who filled it in.

    `str()` is the whole sentence; `field` is the name of the field at fault as the caller called it
    ("width at M", "gaps_mm").

    >>> str(PlankingError("Width at M cannot be below zero.", field="width at M"))
    'Width at M cannot be below zero.'
    >>> PlankingError("Width at M cannot be below zero.", field="width at M").field
    'width at M'
    """

    def __init__(self, sentence: str, *, field: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field

    def __reduce__(self) -> tuple[object, ...]:
        # A worker process hands its exceptions back by pickle, which knows nothing of keyword arguments.
        return _remake, (self.sentence, self.field)


def refusal(field: str, reason: str) -> PlankingError:
    """Return the refusal of one field as a whole sentence: the field, then what is wrong with it.

    >>> str(refusal("width at M", "is longer than any ship"))
    'Width at M is longer than any ship.'
    >>> str(refusal("gaps_mm", "nothing was typed"))
    'gaps_mm: nothing was typed.'
    """
    verbs = ("is ", "must ", "cannot ", "has ", "needs ", "would ")
    # A key of a file is quoted as it stands; a name in words begins the sentence.
    name = field if "_" in field or "[" in field else field[:1].upper() + field[1:]
    return PlankingError(f"{name}{' ' if reason.startswith(verbs) else ': '}{reason}.", field=field)


def _remake(sentence: str, field: str) -> PlankingError:
    return PlankingError(sentence, field=field)
