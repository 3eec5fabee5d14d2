"""The two runs of an opening and where they are heading, as the drift lines are told it."""


def drift_lines_of(hull, opening, review):
    return None
