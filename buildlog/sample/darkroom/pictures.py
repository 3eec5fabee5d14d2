"""Every picture of the sample, by the name of its file."""

from . import at_the_hull, on_the_bench

PICTURES = {
    "girth-strip": at_the_hull.girth_strip,
    "battens": at_the_hull.battens,
    "slate": on_the_bench.slate,
    "letter": on_the_bench.letter,
    "drop-strake": at_the_hull.drop_strake,
    "heat-iron": on_the_bench.heat_iron,
    "garboard": at_the_hull.garboard,
    "stealer": at_the_hull.stealer,
    "caliper-check": on_the_bench.caliper_check,
    "spoiled": on_the_bench.spoiled,
    "bilge-gap": at_the_hull.bilge_gap,
    "starboard-gap": at_the_hull.starboard_gap,
    "clamped": at_the_hull.clamped,
    "last-gap": at_the_hull.last_gap,
    "closing-dry": at_the_hull.closing_dry,
    "closed": at_the_hull.closed,
    "from-the-bow": at_the_hull.from_the_bow,
    "scraped": at_the_hull.scraped,
}
