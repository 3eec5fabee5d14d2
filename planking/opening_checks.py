"""What an opening is checked for when it is made; each refusal a sentence with the name of its field."""

from collections.abc import Iterable
from itertools import pairwise

from planking.checks import LONGEST_MM, check_finite, check_length, check_once
from planking.errors import PlankingError
from planking.opening import EdgeReading, GapReading, GirthReading, Opening, WidthReading, ZeroCheck


def check_opening(opening: Opening) -> None:
    if not opening.stations:
        raise PlankingError("stations", "An opening needs at least one station.")
    check_once("stations", (one.name for one in opening.stations), "Station")
    check_once("strakes", (one.label for one in opening.strakes), "Strake")
    check_once("epochs", (one.name for one in opening.epochs), "Epoch")
    for key in ("planned_seam_mm", "seam_mm", "u_seam_mm", "seam_scatter_mm", "cutting_scatter_mm"):
        check_length(key, getattr(opening, key), key.removesuffix("_mm").replace("_", " "))
    _check_order(opening)
    _check_places(opening)
    _check_readings(opening)
    _check_room(opening)


def _check_order(opening: Opening) -> None:
    orders = [
        (one.hung_order, one.label)
        for one in opening.strakes
        if one.state == "hung" and one.hung_order is not None
    ]
    seen: dict[int, str] = {}
    for order, label in orders:
        if order in seen:
            raise PlankingError(
                "hung_order",
                f"Strakes {seen[order]} and {label} have the same place in the order of hanging.",
            )
        seen[order] = label
    if sum(one.run == "closing" and not one.planned_mm.keys() for one in opening.strakes):
        raise PlankingError("planned_mm", "The closing strake needs planned widths.")


def _check_places(opening: Opening) -> None:
    places = [one.x_mm for one in opening.stations if one.x_mm is not None]
    if any(after <= before for before, after in pairwise(places)):
        raise PlankingError(
            "x_mm", "The stations stand from forward to aft; their places along the hull must grow."
        )
    known = {one.name for one in opening.stations}
    for strake in opening.strakes:
        for key in ("planned_mm", "cut_to_mm", "aim_mm"):
            for name in getattr(strake, key) or ():
                if name not in known:
                    raise PlankingError(
                        key, f"Strake {strake.label} has a width at {name}, which is not a station."
                    )
    for name, girth in (opening.girth_planned_mm or {}).items():
        check_length("girth_planned_mm", girth, f"the planned girth at {name}", above_nought=True)
        if name not in known:
            raise PlankingError("girth_planned_mm", f"A girth is planned at {name}, which is not a station.")


def _check_readings(opening: Opening) -> None:
    places = {None, *(one.name for one in opening.stations)}
    labels, epochs = set(opening.strake_by_label), {None, *opening.epoch_by_name}
    for reading, key, value in _readings(opening):
        least = -LONGEST_MM if key == "offset_mm" else 0.0
        u = 0.0 if reading.u_mm is None else reading.u_mm
        # The comparisons are false for what is not a number, so that it is looked at closely.
        sound = least <= value <= LONGEST_MM and 0.0 <= u <= LONGEST_MM
        sound = sound and getattr(reading, "station", None) in places
        sound = sound and getattr(reading, "epoch", None) in epochs and labels.issuperset(_named(reading))
        if not sound:
            _refuse_reading(opening, reading, key, value)
    check_once("widths", ((one.strake, one.station) for one in opening.widths), "The width of strake")
    check_once("girths", (one.station for one in opening.girths), "The girth at")


def _refuse_reading(opening: Opening, reading: "AnyReading", key: str, value: float) -> None:
    """Raise the sentence for the first thing wrong with a reading."""
    where, epoch = getattr(reading, "station", None), getattr(reading, "epoch", None)
    what = f"the reading of {key.removesuffix('_mm')}" + (f" at {where}" if where else "")
    if where is not None and all(where != one.name for one in opening.stations):
        raise PlankingError("station", f"A reading was taken at {where}, which is not a station.")
    if epoch is not None and epoch not in opening.epoch_by_name:
        raise PlankingError("epoch", f"A reading names the instrument epoch {epoch}, which is not given.")
    for label in _named(reading):
        if label not in opening.strake_by_label:
            raise PlankingError("strake", f"A reading names strake {label}, which is not in this opening.")
    check_finite(key, value, what)
    if key != "offset_mm":
        check_length(key, value, what)
    check_length(key, abs(value), what)
    if reading.u_mm is not None:
        check_length("u_mm", reading.u_mm, f"the doubt of {what}")


AnyReading = WidthReading | GapReading | EdgeReading | GirthReading | ZeroCheck


def _readings(opening: Opening) -> Iterable[tuple[AnyReading, str, float]]:
    for width in opening.widths:
        yield width, "width_mm", width.width_mm
    for gap in opening.gaps:
        yield gap, "gap_mm", gap.gap_mm
    for edge in opening.edges:
        yield edge, "distance_mm", edge.distance_mm
    for girth in opening.girths:
        yield girth, "girth_mm", girth.girth_mm
    for check in opening.zero_checks:
        yield check, "offset_mm", check.offset_mm


def _named(reading: AnyReading) -> Iterable[str]:
    if isinstance(reading, WidthReading | EdgeReading):
        return (reading.strake,)
    return sorted(reading.hung) if isinstance(reading, GapReading) else ()


def _check_room(opening: Opening) -> None:
    hung = {one.label for one in opening.strakes if one.is_hung}
    taken: dict[str, float] = {}
    for width in opening.widths:
        if width.strake in hung:
            taken[width.station] = taken.get(width.station, 0.0) + width.width_mm
    for girth in opening.girths:
        total = taken.get(girth.station, 0.0)
        if total > girth.girth_mm + 10 * girth.u_mm + 0.5:
            hung_mm, girth_mm = f"{total:.2f}", f"{girth.girth_mm:.2f}"
            told = f"At {girth.station} the girth {girth_mm} is smaller than what is hung, {hung_mm}."
            raise PlankingError("girth_mm", told)
