"""What a cut card tells: the widths of one strake from the plan in force, where to measure from, its butts."""

import json
from dataclasses import dataclass, field, replace

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from buildlog.models import Build, CardPrint, Plank, PlanRevision, PlanStrake, PlanWidth, Station, Strake

from .check_words import check_words

# A difference that two decimals of a millimetre can show.
SHOWN_NM = 5_000
# A printed card whose figures to set are further off than this is told of: less is not news.
NEWS_NM = 20_000


@dataclass(frozen=True)
class CardLine:
    """One station of a card. ``makes_nm`` is what the plank should measure, ``set_nm`` what to set."""

    station: Station
    set_nm: int
    makes_nm: int
    # The width of the revision before, where it was another.
    was_nm: int | None = None

    @property
    def is_less_habit(self) -> bool:
        """Whether what to set differs, as it is shown, from what the plank should measure."""
        return abs(self.set_nm - self.makes_nm) >= SHOWN_NM


@dataclass(frozen=True)
class CardButtMark:
    frame: object
    words: str
    short: str


@dataclass(frozen=True)
class CutCard:
    build: Build
    strake: Strake
    plan: PlanStrake
    revision: PlanRevision
    lines: list[CardLine]
    words: str
    butts: list[CardButtMark] = field(default_factory=list)
    piece_count: int = 1
    # A card on paper, still good by its words, that says to set something else by now.
    printed_apart: CardPrint | None = None

    @property
    def side(self) -> str:
        return self.strake.opening.side

    @property
    def label(self) -> str:
        return self.plan.label

    @property
    def datum(self) -> str:
        return datum_edge(self.plan.run)

    def at_stations(self, *, all_of_them: bool) -> "CutCard":
        """Return the card with the stations read by default, or with every one the plan has a width for."""
        some = [line for line in self.lines if line.station.read_by_default]
        return self if all_of_them or not some else replace(self, lines=some)

    @property
    def dead_flat(self) -> CardLine | None:
        """The line the bench quotes: dead flat, else the widest one."""
        flat = [line for line in self.lines if line.station.is_dead_flat]
        return flat[0] if flat else max(self.lines, key=lambda line: line.set_nm, default=None)

    @property
    def pieces(self) -> list[str]:
        """The marks to pencil on the wood: P9-1, P9-2."""
        return [f"{self.side[0].upper()}{self.label}-{n}" for n in range(1, self.piece_count + 1)]

    @property
    def widths_nm(self) -> dict[str, int]:
        """What a print of this card keeps, so that a later plan can be told from it."""
        return {line.station.name: line.makes_nm for line in self.lines}

    @property
    def set_widths(self) -> dict[str, int]:
        """What the builder is told to set, nm by station name; empty where no habit is taken off."""
        if all(line.set_nm == line.makes_nm for line in self.lines):
            return {}
        return {line.station.name: line.set_nm for line in self.lines}

    @property
    def thickness_nm(self) -> tuple[int, int] | None:
        """The thinnest and thickest that the plan has this strake, nm; None where it does not say."""
        told = [width.thickness_nm for width in self.plan.widths.all() if width.thickness_nm]
        return (min(told), max(told)) if told else None

    @property
    def takes_habit_off(self) -> bool:
        return any(line.is_less_habit for line in self.lines)

    def setting(self, set_widths) -> "CutCard":
        """Return the card with what to set, nm by station name; a station not named is set as wanted."""
        lines = [replace(line, set_nm=set_widths.get(line.station.name, line.makes_nm)) for line in self.lines]
        return replace(self, lines=lines)


def datum_edge(run: str) -> str:
    """Return the edge widths are measured from: the one that was fitted to its neighbour, towards the fixed line.

    A plank of the run from the wale is fitted along its wale side, and its width is set off from there (common
    practice, no source).
    """
    return "wale" if run == PlanStrake.Run.WALE else "keel"


def cut_card_of(build, strake, revision) -> CutCard | None:
    """Return the card of a strake under the revision in force, or None where the revision leaves it out."""
    plans = _plans_of(strake, revision)
    if revision is None or not plans or plans[-1].revision_id != revision.pk:
        return None
    plan, before = plans[-1], plans[-2] if len(plans) > 1 else None
    lines = _lines(plan, before if _is_news(strake, revision) else None)
    pieces = list(plan.planks.all())
    return CutCard(
        build=build, strake=strake, plan=plan, revision=revision, lines=lines, words=_words_of(plans),
        butts=_butts(build, pieces), piece_count=max(1, len(pieces)),
    )  # fmt: skip


def lines_of(strake, revision) -> list[CardLine]:
    """Return the lines of a strake's card without the rest of it, for one who measures: three queries at most."""
    if revision is None or revision.number is None:
        return []
    rows = PlanWidth.objects.filter(plan_strake__strake=strake, plan_strake__revision__number__lte=revision.number)
    by_number: dict[int, dict[int, int]] = {}
    for number, station, width in rows.values_list("plan_strake__revision__number", "station", "width_nm"):
        by_number.setdefault(number, {})[station] = width
    now = by_number.pop(revision.number, {})
    before = by_number[max(by_number)] if by_number else {}
    was = {pk: before[pk] for pk, width in now.items() if before.get(pk, width) != width}
    if was and not _is_news(strake, revision):
        was = {}
    stations = Station.objects.filter(pk__in=now).order_by("position")
    return [CardLine(one, set_nm=now[one.pk], makes_nm=now[one.pk], was_nm=was.get(one.pk)) for one in stations]


def _is_news(strake, revision) -> bool:
    """Say whether the widths of a revision are still news: no other strake of the opening was cut to it yet."""
    cut = Plank.objects.filter(revision=revision, strake__opening=strake.opening).exclude(strake=strake)
    return not cut.exists()


def _plans_of(strake, revision) -> list[PlanStrake]:
    """Return what each numbered revision up to this one says of a strake, oldest first. Four queries."""
    if revision is None or revision.number is None:
        return []
    plans = PlanStrake.objects.filter(strake=strake, revision__number__lte=revision.number)
    return list(
        plans.select_related("revision", "belt", "opening")
        .prefetch_related("widths__station", "planks__from_frame", "planks__to_frame")
        .order_by("revision__number")
    )


def _widths(plan) -> list[PlanWidth]:
    return sorted(plan.widths.all(), key=lambda width: width.station.position)


def _lines(plan, before) -> list[CardLine]:
    earlier = {width.station_id: width.width_nm for width in before.widths.all()} if before else {}
    return [
        CardLine(
            width.station, set_nm=width.width_nm, makes_nm=width.width_nm,
            was_nm=_other(earlier.get(width.station_id), width.width_nm),
        )
        for width in _widths(plan)
    ]  # fmt: skip


def _other(before_nm, now_nm):
    return None if before_nm == now_nm else before_nm


def _butts(build, pieces) -> list[CardButtMark]:
    """Return where the planks of a strake meet. No query where it is one length."""
    frames = [piece.to_frame for piece in pieces[:-1]]
    stations = list(build.stations.filter(frame__isnull=False).select_related("frame")) if frames else []
    return [
        CardButtMark(frame, place_of_frame(frame, stations), place_of_frame(frame, stations, is_short=True))
        for frame in frames
    ]


def place_of_frame(frame, stations, *, is_short=False) -> str:
    """Return where a frame stands, in the words of the stations: they are marked on the hull, its number is not.

    ``is_short`` is for a drawing, where two butts share one line.
    """
    at = {station.frame.number: station.name for station in stations}
    if frame.number in at or frame.name:
        return _("at %(name)s") % {"name": at.get(frame.number) or frame.name}
    if not at:
        return _("at frame %(number)s") % {"number": str(frame.number).replace("-", "−")}
    before, after = (max((n for n in at if n < frame.number), default=None),
                     min((n for n in at if n > frame.number), default=None))  # fmt: skip
    if before is not None and after is not None and frame.number - before == after - frame.number:
        between = _("midway %(before)s to %(after)s") if is_short else _("midway between %(before)s and %(after)s")
        return between % {"before": at[before], "after": at[after]}
    near = min((n for n in (before, after) if n is not None), key=lambda n: abs(frame.number - n))
    away = abs(frame.number - near)
    if near < frame.number:
        words = ngettext("%(n)s frame aft of %(name)s", "%(n)s frames aft of %(name)s", away)
    else:
        words = ngettext("%(n)s frame forward of %(name)s", "%(n)s frames forward of %(name)s", away)
    return words % {"n": away, "name": at[near]}


def _told(plan) -> str:
    """Return all that a card tells of a strake, in one canonical text."""
    return json.dumps(
        {
            "strake": str(plan.strake_id), "label": plan.label, "run": plan.run, "side": plan.opening.side,
            "widths": [[w.station.name, w.width_nm, w.thickness_nm] for w in _widths(plan)],
            "butts": [p.to_frame.number for p in list(plan.planks.all())[:-1]],
        },
        sort_keys=True,
    )  # fmt: skip


def _words_of(plans) -> str:
    """Return the words of the card: of what it tells, and of the revision that first told it so.

    A revision that leaves this strake as it was leaves its words, so a card printed before it is not called old.
    """
    if not plans:
        return ""
    told, since = _told(plans[-1]), plans[-1].revision.number
    for plan in reversed(plans[:-1]):
        if _told(plan) != told:
            break
        since = plan.revision.number
    return check_words(f"{since}:{told}")


def card_print_by_code(code) -> CardPrint | None:
    return (
        CardPrint.objects.filter(code=code)
        .select_related("plan_strake__revision__build", "plan_strake__strake__opening", "printed_by")
        .first()
    )


def print_in_hand(card: CutCard) -> CardPrint | None:
    """Return the last print of a card that was neither made void nor thrown away, where its words still stand."""
    prints = CardPrint.objects.filter(
        plan_strake__strake=card.strake, words=card.words, voided_at__isnull=True, thrown_away_at__isnull=True
    )
    return prints.order_by("-printed_at", "-pk").first()


def says_otherwise(printed: CardPrint, card: CutCard) -> bool:
    """Say whether a print tells to set something else than the card does now, by more than is worth a word."""
    told = [(printed.set_widths.get(line.station.name, line.makes_nm), line.set_nm) for line in card.lines]
    return any(abs(then - now) > NEWS_NM for then, now in told)


def is_old(card: CardPrint, now_words: str) -> bool:
    """Say whether a printed card is old: its plan was changed, or it bears other words than the bench."""
    return card.voided_at is not None or card.words != now_words


def changes_since(card: CardPrint, current: CutCard | None) -> list[dict]:
    """Return the stations where the plan has changed since a card was printed, forward to aft.

    Each with the big figures of both cards, what to set: those are what a builder lays side by side.
    """
    if current is None:
        return []
    return [
        {
            "station": line.station, "now_nm": line.set_nm,
            "card_nm": card.set_widths.get(line.station.name, card.widths.get(line.station.name)),
        }
        for line in current.lines
        if card.widths.get(line.station.name) != line.makes_nm
    ]  # fmt: skip
