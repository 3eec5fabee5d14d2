"""One build as it stands, read once a page: the plan in force, every opening's strakes, what comes next."""

import zoneinfo
from dataclasses import dataclass, field
from functools import cached_property

from buildlog.measuring.openings import facts_of
from buildlog.measuring.reviews import review_of, trouble_of
from buildlog.models import Build, Opening, PlanRevision, Station, Tip
from buildlog.queries.next_strake import Next, next_of
from buildlog.queries.plans import StrakeOfPlan, openings_of, revision_in_force, strakes_by_opening
from buildlog.queries.writings import said_of


@dataclass
class StandingHull:
    """What head, strip, map and tables are all made from; ``as_of`` shows what was known at a moment."""

    build: Build
    as_of: object = None
    _reviews: dict = field(default_factory=dict)
    _facts: dict = field(default_factory=dict)

    @cached_property
    def revision(self) -> PlanRevision | None:
        return revision_in_force(self.build, self.as_of)

    @cached_property
    def openings(self) -> list[Opening]:
        return openings_of(self.build)

    @cached_property
    def strakes(self) -> dict[int, list[StrakeOfPlan]]:
        return strakes_by_opening(self.revision, as_of=self.as_of) if self.revision else {}

    @cached_property
    def stations(self) -> list[Station]:
        """All stations, forward to aft."""
        return list(self.build.stations.select_related("frame").order_by("position"))

    @cached_property
    def known(self) -> dict:
        """What readings share, by name and pk, read once a page; the stations are all in it, forward to aft."""
        return {"station": {station.pk: station for station in self.stations}}

    @cached_property
    def day(self):
        """The day this hull is shown as of: the date asked for, else the last session's, else none."""
        if self.as_of is not None:
            return self.as_of.astimezone(zoneinfo.ZoneInfo(self.build.time_zone)).date()
        last = self.build.sessions.order_by("-local_date").values_list("local_date", flat=True).first()
        return last

    @cached_property
    def frame_places(self) -> dict[int, int]:
        """Where each frame stands, by its number, for those whose place is known."""
        rows = self.build.frames.filter(x_nm__isnull=False)
        return dict(rows.values_list("number", "x_nm"))

    @cached_property
    def next(self) -> Next | None:
        return next_of(self.openings, self.strakes) if self.revision else None

    def said_of_notes(self, review) -> Tip | None:
        """What the builder wrote of his cutting, where a note asks whether he has a habit."""
        asks = any(note.kind in ("one_sign", "habit") for note in review.notes)
        return said_of(self.build, "cutting", self.as_of) if asks else None

    @property
    def layer(self) -> int:
        """The layer being planked: that of the next strake, else the outermost that has strakes."""
        if self.next:
            return self.next.opening.layer
        layers = [o.layer for o in self.openings if self.strakes.get(o.pk)]
        return max(layers, default=1)

    def openings_here(self) -> list[Opening]:
        """The openings of the layer being planked, port first."""
        return [o for o in self.openings if o.layer == self.layer and self.strakes.get(o.pk)]

    def review(self, opening):
        if opening.pk not in self._reviews:
            self._reviews[opening.pk] = review_of(opening, self.as_of, read=lambda one, as_of=None: self.facts(one))
        return self._reviews[opening.pk]

    def facts(self, opening):
        """Return an opening as planking reads it, read once a page; PlankingError where it cannot be reckoned."""
        if opening.pk not in self._facts:
            strakes = self.strakes.get(opening.pk, [])
            self._facts[opening.pk] = facts_of(opening, self.as_of, self.revision, strakes, self.known)
        return self._facts[opening.pk]

    def trouble(self, opening) -> str:
        """What keeps an opening from being reckoned, in a sentence; nothing where it can be."""
        return trouble_of(opening, self.as_of) if self.review(opening) is None else ""

    def troubles(self) -> list[tuple[Opening, str]]:
        """What keeps an opening of this layer from being reckoned, in a sentence each."""
        told = [(opening, self.trouble(opening)) for opening in self.openings_here()]
        return [(opening, sentence) for opening, sentence in told if sentence]

    def widest_station(self) -> Station | None:
        """Dead flat where one is named, else the station whose planned widths come to most."""
        if not self.stations:
            return None
        flat = next((s for s in self.stations if s.is_dead_flat), None)
        return flat or max(self.stations, key=self._planned_at)

    def _planned_at(self, station) -> int:
        rows = [s for o in self.openings_here() for s in self.strakes[o.pk]]
        return sum(s.widths[station.pk].width_nm for s in rows if station.pk in s.widths)

    def is_next(self, strake: StrakeOfPlan) -> bool:
        return bool(self.next) and strake.plan.pk == self.next.strake.plan.pk
