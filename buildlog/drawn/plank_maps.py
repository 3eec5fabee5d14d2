"""The unrolled hull of a build, as the plank map is told it: aft to forward, keel side first."""

from itertools import pairwise

from django.utils.translation import gettext as _

from buildlog.models import NM_PER_MM
from buildlog.pictures.hull import Hull, HullBelt, HullGap, HullOpening, HullSide, HullStation, HullStrake
from buildlog.queries.plans import StrakeOfPlan, counted, know_butts

from .gap_wedges import is_read
from .strips import state_drawn

# A belt is called wide or narrow when its sum at some station takes more than this share of the step limit.
FINDING_SHARE = 0.5
# Fills step at these shares of the step the eye sees: 0.03, 0.06 and 0.09 mm on a strake of 4.5 mm at 4 %.
STEP_SHARES = (1 / 6, 1 / 3, 1 / 2)
USUAL_STEPS_MM = (0.03, 0.06, 0.09)


def mm(nm) -> float:
    return nm / NM_PER_MM


def hull_drawn(hull, *, sides=None, plain=False) -> Hull | None:
    """Return what the plank map draws of the layer being planked, or None before there is a plan."""
    openings = [o for o in hull.openings_here() if sides is None or o.side in sides]
    if not openings or not hull.stations:
        return None
    know_butts([s for o in openings for s in hull.strakes[o.pk]])
    stations = _stations_drawn(hull, openings)
    drawn = {}
    for opening in sorted(openings, key=lambda o: o.position):
        drawn.setdefault(opening.side, []).append(_opening(hull, opening, stations, plain))
    return Hull(
        stations=tuple(
            HullStation(s.name, place, s.is_dead_flat)
            for s, place in zip(stations, _places(stations), strict=True)
        ),
        sides=tuple(HullSide(side, tuple(rows)) for side, rows in drawn.items()),
        steps_mm=steps_mm(hull, openings),
    )


def _stations_drawn(hull, openings):
    """Stations aft to forward; those that no plan uses are left out where any is used."""
    used = {pk for o in openings for s in hull.strakes[o.pk] for pk in s.widths}
    return [s for s in reversed(hull.stations) if not used or s.pk in used]


def _places(stations) -> list:
    """Where the stations stand, rising forward; places that do not rise are no places, and all stand evenly."""
    places = [None if s.x_nm is None else -mm(s.x_nm) for s in stations]
    known = None not in places and all(aft < forward for aft, forward in pairwise(places))
    return places if known else [None] * len(places)


def steps_mm(hull, openings) -> tuple[float, float, float]:
    """Return the steps of the fills, which scale with the step that the eye sees on these strakes."""
    limits = [
        s.step_limit_mm for o in openings if (r := hull.review(o)) for s in r.stations if s.step_limit_mm
    ]
    if not limits:
        return USUAL_STEPS_MM
    hundredths = [int(max(limits) * share * 100) for share in STEP_SHARES]
    return tuple(max(step, n) / 100 for n, step in enumerate(hundredths, start=1))


def _opening(hull, opening, stations, plain) -> HullOpening:
    strakes = hull.strakes[opening.pk]
    review = hull.review(opening)
    off = deviations(review)
    return HullOpening(
        strakes=tuple(_strake(hull, s, stations, {} if plain else off, _doubtful(review)) for s in strakes),
        belts=() if plain else tuple(_belts(hull, strakes, off, review)),
        gaps=() if plain else tuple(_gaps(review, stations)),
    )


def deviations(review) -> dict[str, dict[str, float]]:
    """Return how far each hung strake is off the width it was cut to, by label and station, where it was
    read.
    """
    found: dict[str, dict[str, float]] = {}
    for station in review.stations if review else ():
        for point in (*station.wale_drift, *station.keel_drift):
            if point.read_here:
                found.setdefault(point.strake, {})[station.station] = point.deviation_mm
    return found


def _doubtful(review) -> set[str]:
    return {label for note in (review.notes if review else ()) if note.kind == "in_doubt" for label in note.strakes}


def _strake(hull, strake: StrakeOfPlan, stations, off, doubtful) -> HullStrake:
    here = off.get(strake.label, {})
    known = bool(strake.widths)
    return HullStrake(
        label=strake.label,
        state=state_drawn(hull, strake),
        widths_mm=tuple(_width(strake, station, known) for station in stations),
        deviations_mm=tuple(here.get(s.name) for s in stations) if strake.is_hung else (),
        doubtful=tuple(strake.label in doubtful for _s in stations) if strake.is_hung else (),
        butts_mm=tuple(-mm(x) for x in butts_nm(strake)),
        spans_mm=tuple(_spans(hull, strake)),
        closing=strake.plan.run == "closing",
        kind=strake.plan.kind,
    )


def _width(strake, station, known):
    if station.pk in strake.widths:
        return mm(strake.widths[station.pk].width_nm)
    return 0.0 if known else None


def butts_nm(strake) -> list[int]:
    """Return the places of a strake's butts: the frames between two of its planks."""
    planks = list(strake.plan.planks.all())
    return [p.to_frame.x_nm for p in planks[:-1] if p.to_frame.x_nm is not None]


def _spans(hull, strake):
    places = hull.frame_places
    for first, last in strake.plan.spans:
        if first in places and last in places and places[first] != places[last]:
            yield tuple(sorted((-mm(places[first]), -mm(places[last]))))


def _belts(hull, strakes, off, review):
    groups: list[list[int]] = []
    for index, strake in enumerate(strakes):
        if groups and strakes[groups[-1][0]].plan.belt_id == strake.plan.belt_id:
            groups[-1].append(index)
        else:
            groups.append([index])
    for group in groups:
        belt = strakes[group[0]].plan.belt
        if belt is not None:
            finding, tone = _finding(hull, [strakes[i] for i in group], off, review)
            yield HullBelt(_("%(name)s belt") % {"name": belt.name}, group[0], group[-1], finding, tone)


def _finding(hull, strakes, off, review):
    """Return what is to be said at a belt's bracket, and its tone."""
    left = [s for s in strakes if not s.is_hung]
    if left:
        nxt = next((s.label for s in left if hull.is_next(s)), "")
        count = len(counted(left))
        said = _("open, %(count)d to hang") % {"count": count} if count else _("open, a stealer to hang")
        return (said + _(", next %(label)s") % {"label": nxt} if nxt else said), "open"
    sums = {
        station.station: sum(off.get(s.label, {}).get(station.station, 0.0) for s in strakes)
        for station in (review.stations if review else ())
    }
    if not sums or not any(s.label in off for s in strakes):
        return _("not measured"), "within"
    worst = max(sums, key=lambda name: abs(sums[name]))
    limit = max((s.step_limit_mm or 0 for s in review.stations), default=0)
    amount = f"{abs(sums[worst]):.2f}"
    if abs(sums[worst]) <= FINDING_SHARE * limit or float(amount) == 0:
        return _("within %(amount)s") % {"amount": amount}, "within"
    said = _("wide %(amount)s at %(station)s") if sums[worst] > 0 else _("narrow %(amount)s at %(station)s")
    return said % {"amount": amount, "station": worst}, "wide" if sums[worst] > 0 else "narrow"


def _gaps(review, stations):
    """The gaps that are known: the worst first, then dead flat, then the others by how short they are."""
    if review is None:
        return
    place = {s.name: index for index, s in enumerate(stations)}
    flat = next((s.name for s in stations if s.is_dead_flat), None)
    known = [s for s in review.stations if s.gap_mm is not None and s.short_mm is not None and s.left]
    known.sort(key=lambda s: (s.station != review.worst, s.station != flat, -abs(s.short_mm)))
    for one in known:
        yield HullGap(
            station=place[one.station],
            figure=f"{one.gap_mm:.2f}".replace("-", "−"),
            words=short_words(one.short_mm),
            is_worst=one.station == review.worst,
            is_read=is_read(one),
        )


def short_words(short_mm: float | None) -> str:
    """Return a shortage in the builder's words: short by, over by, as planned, or not known."""
    if short_mm is None:
        return _("no gap read")
    amount = f"{abs(short_mm):.2f}"
    if float(amount) == 0:
        return _("as planned")
    return (_("short by %(mm)s") if short_mm > 0 else _("over by %(mm)s")) % {"mm": amount}
