"""The hull as it is, or as it was known on the day that a page is asked for by ``?on=``."""

from dataclasses import dataclass
from urllib.parse import urlencode

from buildlog.drawn.heads import standing_hull
from buildlog.drawn.hulls import StandingHull
from buildlog.forms.hull import KnownOnForm


@dataclass(frozen=True)
class KnownOn:
    """The hull to show, the moment it is shown as of (None: now), and the form that asks for a day."""

    hull: StandingHull
    as_of: object
    form: KnownOnForm

    @property
    def query(self) -> str:
        """What a link to another page of the same day carries on."""
        return f"?{urlencode({'on': self.form.cleaned_data['on'].isoformat()})}" if self.as_of else ""


def standing_on(request, visit) -> KnownOn:
    form = KnownOnForm(request.GET if "on" in request.GET else None)
    as_of = form.moment(visit.build)
    hull = StandingHull(visit.build, as_of) if as_of else standing_hull(visit)
    return KnownOn(hull, as_of, form)
