"""Which strakes a phone takes along: enough for a long evening with no signal."""

# An evening hangs two or three strakes a side; twice that leaves room for a change of mind.
STRAKES_EACH_OPENING = 6


def strakes_of_packet(choices) -> list:
    """Return the first strakes of each opening, those at the front of a run before the others."""
    taken: dict[int, list] = {}
    for choice in choices:
        row = taken.setdefault(choice.opening.pk, [])
        if len(row) < STRAKES_EACH_OPENING:
            row.append(choice)
    return [choice for row in taken.values() for choice in row]
