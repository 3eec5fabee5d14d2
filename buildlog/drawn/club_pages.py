"""What the club page shows: a narrow copy of what the builder shared, and pictures made from it."""

from dataclasses import dataclass, field
from datetime import datetime

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from buildlog.pictures.drawing import three_cuts
from buildlog.pictures.how_far import HowFar, how_far
from buildlog.pictures.plank_map import plank_map
from buildlog.queries.links import shared_photos, shared_stories

from .hulls import StandingHull
from .plank_maps import hull_drawn
from .progress import progress_of
from .strips import strip_of, strip_sides

# The picture of then and now looks so many shared sessions back.
SESSIONS_AGO = 4


@dataclass(frozen=True)
class Figure:
    """One number of the club page and what it counts."""

    figure: str
    words: str
    of: str = ""


@dataclass
class ClubPage:
    """Everything a stranger with the link may see, and nothing else."""

    name: str
    story: str
    scale_text: str
    reader_units: str
    day: object
    strip_desk: object = None
    strip_phone: object = None
    lead: object = None
    said: object = None
    how_far: object = None
    map: object = None
    # The sides that the model has: a half model has one.
    sides: list = field(default_factory=list)
    figures: list = field(default_factory=list)
    stories: list = field(default_factory=list)
    loose_photos: list = field(default_factory=list)
    mishaps: list = field(default_factory=list)
    new: int = 0


def club_page_of(link, *, now, seen: datetime | None = None) -> ClubPage:
    """Return the page of a link. ``seen`` is when this reader last looked, where the browser remembers it."""
    build = link.build
    hull = StandingHull(build)
    stories = shared_stories(build)
    photos = list(shared_photos(build).order_by("-taken_local", "-pk")[:40])
    page = ClubPage(
        name=build.name, story=build.story, scale_text=build.scale_text, reader_units=build.reader_units,
        day=max((s.date for s in stories), default=None), stories=stories,
        loose_photos=[p for p in photos if p.session_id is None], lead=_lead(stories, photos),
        said=next((s for s in stories if s.note), None),
        mishaps=[m for s in stories for m in s.mishaps][:1], new=_new(stories, seen, now), sides=build.side_list,
    )  # fmt: skip
    _show_once(page)
    page.stories = [story for story in stories if story.tells]
    if link.shows.get("hull", True):
        _draw(page, hull, stories)
    page.figures = _figures(hull, stories, numbers=link.shows.get("numbers", True))
    return page


def _show_once(page):
    """The photograph that leads the page is not shown again in its session."""
    for story in page.stories:
        story.photos = [photo for photo in story.photos if photo != page.lead]
    page.loose_photos = [photo for photo in page.loose_photos if photo != page.lead]


def _lead(stories, photos):
    return next((s.photos[-1] for s in stories if s.photos), photos[0] if photos else None)


def _new(stories, seen, now) -> int:
    """How many sessions came since the reader last looked; without that, none is called new."""
    return sum(1 for s in stories if seen is not None and s.updated_at > seen)


def _draw(page, hull, stories):
    desk, phone = strip_of(hull, 1216, "strip-desk"), strip_of(hull, 360, "strip-phone")
    page.strip_desk, page.strip_phone = (desk.svg, phone.svg) if desk and phone else (None, None)
    page.map = _map(hull)
    page.how_far = _how_far(hull, stories)


def _map(hull):
    drawn = hull_drawn(hull, plain=True)
    if drawn is None:
        return None
    both = _("The hull so far, unrolled: each side as seen from outside, keel in the middle.")
    summary = both if len(hull.build.side_list) > 1 else _("The hull so far, unrolled, as seen from outside.")
    return three_cuts([
        plank_map(drawn, width, summary=summary, plain=True, key="club-map") for width in (328, 720, 1178)
    ])  # fmt: skip


def _how_far(hull, stories):
    """The side that is being worked, some sessions ago and now: how far apart its two runs are."""
    side = hull.next.side if hull.next else None
    if side is None:
        return None
    days = [_that_day(hull, side, hull.day)]
    if len(stories) > SESSIONS_AGO:
        then = stories[SESSIONS_AGO]
        days.insert(0, _that_day(StandingHull(hull.build, hull.build.end_of(then.date)), side, then.date))
    days = [day for day in days if day is not None]
    if len(days) > 1 and days[0].side == days[1].side:
        days = days[1:]
    if not days:
        return None
    summary = ". ".join(day.title for day in days) + "."
    return three_cuts([how_far(days, width, summary=summary) for width in (328, 720, 1178)])


def _that_day(hull, sign, day) -> HowFar | None:
    side = next((s for s in strip_sides(hull) if s.sign == sign), None)
    if side is None:
        return None
    left = next((p.to_hang for p in progress_of(hull) if p.side == sign), 0)
    words = ngettext("%(day)s: %(left)d to hang", "%(day)s: %(left)d to hang", left)
    return HowFar(words % {"day": date_format(day, "j F Y") if day else "", "left": left}, side)


def _figures(hull, stories, *, numbers) -> list[Figure]:
    figures = []
    rows = progress_of(hull)
    if rows:
        words = _("strakes hung, both sides together") if len(rows) > 1 else _("strakes hung")
        figures.append(Figure(str(sum(r.hung for r in rows)), words, of=str(sum(r.all for r in rows))))
    if numbers:
        figures += _closing(hull)
    minutes = sum(s.minutes or 0 for s in stories)
    if minutes >= 60:
        figures.append(
            Figure(_("%(hours)d h") % {"hours": minutes // 60}, _("at the bench, in the sessions shown here"))
        )
    return figures


def _closing(hull) -> list[Figure]:
    """The gap left at the widest station, where one was read."""
    flat = hull.widest_station()
    for opening in hull.openings_here():
        review = hull.review(opening)
        here = next((s for s in review.stations if flat and s.station == flat.name), None) if review else None
        if here and here.gap_mm is not None and here.left:
            words = (
                _("mm of gap left to port at %(at)s")
                if opening.side == "port"
                else _("mm of gap left to starboard at %(at)s")
            )
            at = _("dead flat") if flat.name == "⊗" else flat.name
            return [Figure(f"{here.gap_mm:.2f}", words % {"at": at})]
    return []
