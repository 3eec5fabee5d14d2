"""One plank straightened on its own middle line, as the strake sheet is told it."""


def strake_sheet_of(hull, strake, stations):
    return None
