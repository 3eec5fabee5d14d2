"""The one warning of the bench, by what it costs to miss it; *Not now* hides it until its facts change."""

import hashlib
import json
from dataclasses import dataclass, field

from django.urls import reverse
from django.utils.translation import gettext as _

from buildlog.models import NM_PER_MM, CardPrint, HiddenWarning, InstrumentEvent, Person, Plank

from .instruments import off_epochs_of
from .planks import CUTTING_FADES_AFTER


@dataclass(frozen=True)
class Warning:
    """What is the matter, what follows, where to go. ``facts`` are all it stands on."""

    kind: str
    facts: tuple
    first: str
    line: str = ""
    links: list = field(default_factory=list)
    stamp: str = ""

    @property
    def fingerprint(self) -> str:
        text = json.dumps([self.kind, *self.facts], default=str)
        return hashlib.sha256(text.encode()).hexdigest()


def first_warning(build, person, *, card, state, reviews, now) -> Warning | None:
    """Return the first warning, in the order of DECISIONS 4, that this person has not put off.

    ``card`` and ``state`` are those of the strake on the bench (or None); ``reviews`` are pairs of opening and
    review, the bench's own opening first.
    """
    hidden = set(HiddenWarning.objects.filter(build=build, person=person).values_list("fingerprint", flat=True))
    return next(
        (one for one in warnings(build, person, card, state, reviews, now) if one.fingerprint not in hidden),
        None,
    )


def warnings(build, person, card, state, reviews, now):
    """Yield every warning that stands, the dearest to miss first."""
    if card is not None:
        yield from _old_cards(card)
        yield from _in_other_hands(card, state, person, now)
    yield from _verdicts(build, reviews)
    yield from _instruments(build)
    yield from _gap_checks(build, reviews)


def _old_cards(card):
    printed = CardPrint.objects.filter(plan_strake__strake=card.strake, thrown_away_at__isnull=True).order_by(
        "-printed_at"
    )
    old = [one for one in printed if one.voided_at is not None or one.words != card.words]
    if not old:
        return
    args = [card.build.uuid, card.strake.uuid]
    yield Warning(
        "card", (*(one.code for one in old), card.words),
        _("Printed card %(label)s is") % {"label": card.label}, stamp="old",
        links=[
            {"label": _("What changed"), "url": reverse("card-scan", args=[old[0].code])},
            {"label": _("Print"), "url": reverse("card-detail", args=args)},
        ],
    )  # fmt: skip


def _in_other_hands(card, state, person, now):
    if state.state == Plank.State.HUNG:
        yield Warning(
            "hung", (card.strake.uuid, state.hung_at),
            _("%(strake)s hangs already.") % {"strake": name_of(card.strake.opening, card.label)},
            links=[
                {"label": _("This strake"), "url": reverse("strake-detail", args=[card.build.uuid, card.strake.uuid])}
            ],
        )  # fmt: skip
    if state.state != Plank.State.CUTTING or state.by_id in (None, person.pk):
        return
    if now - state.since >= CUTTING_FADES_AFTER:
        return
    who = Person.objects.filter(pk=state.by_id).values_list("display_name", flat=True).first()
    yield Warning(
        "cutting", (card.strake.uuid, state.by_id, state.since),
        _("%(who)s is cutting %(strake)s.") % {"who": who, "strake": name_of(card.strake.opening, card.label)},
        _("The mark fades a day after it was set."),
        links=[{"label": _("Another strake"), "url": reverse("bench", args=[card.build.uuid]) + "?choose=1"}],
    )  # fmt: skip


def name_of(opening, label) -> str:
    return f"{opening.get_side_display()} {label}"


def _verdicts(build, reviews):
    for verdict, first in (
        ("change_plan", _("%(side)s: change the plan.")), ("spread_it", _("%(side)s: spread it.")),
    ):  # fmt: skip
        for opening, review in reviews:
            if review and review.verdict == verdict:
                yield Warning(
                    verdict, (opening.uuid, review.sentence), first % {"side": opening.get_side_display()},
                    _what_follows(review),
                    [{"label": _("The sum"), "url": reverse("opening-sums", args=[build.uuid, opening.uuid])},
                     {"label": _("Plan"), "url": reverse("plan", args=[build.uuid])}],
                )  # fmt: skip


def _what_follows(review) -> str:
    """Return one line of the review: how short, where, and what the closing strake would be left alone."""
    if not review.worst:
        return review.sentence
    at = review.at(review.worst)
    place = _("dead flat") if at.station in ("⊗", "DF") else at.station
    parts = []
    if at.short_mm is not None:
        told = _("Short by %(mm).2f at %(at)s.") if at.short_mm >= 0 else _("Over by %(mm).2f at %(at)s.")
        parts.append(told % {"mm": abs(at.short_mm), "at": place})
    if at.closing and at.left_alone_mm is not None:
        alone = f"{at.left_alone_mm:.2f}".replace("-", "−")
        told = {"label": at.closing, "mm": alone, "plan": at.closing_planned_mm or 0.0}
        parts.append(_("Left alone, strake %(label)s would be %(mm)s, planned %(plan).2f.") % told)
    return " ".join(parts) or review.sentence


def _instruments(build):
    """Yield a warning for each instrument whose zero may have moved and was not checked since, or that was off."""
    rows = build.instruments.filter(retired_at__isnull=True)
    for instrument in rows.prefetch_related("epochs__events", "epochs__corrections"):
        events = [event for epoch in instrument.epochs.all() for event in epoch.events.all()]
        events.sort(key=lambda event: (event.happened_at, event.pk))
        moved = _moved_and_not_checked(events)
        if moved:
            yield _warning_of(
                instrument, moved, _("%(name)s's zero may have moved.") % {"name": instrument.name},
                _("Check it before the next reading; readings since then are in doubt."), _("Check now"),
            )  # fmt: skip
        elif off := [one for one in off_epochs_of(instrument) if one.readings]:
            told = {"name": instrument.name, "mm": f"{off[0].size_nm / NM_PER_MM:.2f}"}
            yield _warning_of(
                instrument, off[0].check, _("%(name)s was %(mm)s mm off.") % told,
                _("What was read with it is in doubt until it is corrected."), _("Correct what was read"),
            )  # fmt: skip


def _moved_and_not_checked(events):
    """Return the last event that may have moved the zero, unless it was checked since."""
    moved = InstrumentEvent.Kind.ZERO_MAY_HAVE_MOVED
    last = max((i for i, event in enumerate(events) if event.kind == moved), default=None)
    if last is None or any(e.kind == InstrumentEvent.Kind.ZERO_CHECK for e in events[last + 1 :]):
        return None
    return events[last]


def _warning_of(instrument, event, sentence, more, label):
    where = reverse("instrument-detail", args=[instrument.build.uuid, instrument.uuid])
    return Warning("instrument", (instrument.uuid, event.uuid), sentence, more, [{"label": label, "url": where}])


def _gap_checks(build, reviews):
    for opening, review in reviews:
        if review and review.gap_checks_due and review.verdict not in ("change_plan", "spread_it"):
            yield Warning(
                "gap", (opening.uuid, review.hung, review.gap_checks_due),
                _("%(side)s: measure the gap.") % {"side": opening.get_side_display()}, review.gap_check_sentence,
                [{"label": _("Gap check"), "url": reverse("gaps-record", args=[build.uuid, opening.uuid])}],
            )  # fmt: skip
