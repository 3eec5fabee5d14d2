"""When new widths are worth making: often enough to close well, never for what the doubt alone may account for."""

NEWS_MM = 0.02
"""A change below this is not news: nobody sets a caliper nearer."""

OFFER_SHARE = 0.01
LAST_STRAKES = 3
GUARD = 1.645


def why_offered(left: int, each_mm: float, mean_mm: float, doubt_mm: float) -> str:
    """Return why new widths are offered at a station: "over_one_per_cent", "last_three", or nothing.

    `each_mm` is what every one of the strakes left would give up, `mean_mm` their mean planned width, and
    `doubt_mm` the standard doubt of `each_mm`. Over one per cent of the width it is offered when surely
    more than 0.02 mm (one-sided 95 %), so that one poor reading moves no saw; with three or fewer left whenever it
    is more than 0.02 mm, for little comes after them to put it right. Nothing is offered where the doubt is
    wider than a strake, that is, where nothing is known. Source: chosen by simulation, tests/calibration.

    >>> why_offered(6, 0.051, 5.0, 0.01), why_offered(6, 0.049, 5.0, 0.01), why_offered(6, 0.051, 5.0, 0.03)
    ('over_one_per_cent', '', '')
    >>> why_offered(2, 0.021, 5.0, 0.03), why_offered(2, 0.019, 5.0, 0.03), why_offered(2, 0.021, 5.0, 30.0)
    ('last_three', '', '')
    """
    size = abs(each_mm)
    if size <= NEWS_MM or doubt_mm > mean_mm:
        return ""
    if left <= LAST_STRAKES:
        return "last_three"
    return "over_one_per_cent" if size > OFFER_SHARE * mean_mm and size - GUARD * doubt_mm > NEWS_MM else ""
