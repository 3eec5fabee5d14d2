"""What an action says when it will not do as asked."""


class Conflict(Exception):
    """Somebody else was there first: the same identity with other content, or a newer version of a row.

    ``theirs`` is what stands now, so that the page can show both.
    """

    def __init__(self, sentence: str, theirs=None):
        super().__init__(sentence)
        self.sentence = sentence
        self.theirs = theirs


class NotPossible(Exception):
    """The deed does not fit the facts. ``field`` names what was at fault, where one field was."""

    def __init__(self, sentence: str, field: str = ""):
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field
