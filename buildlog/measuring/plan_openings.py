"""What the widths of a draft run against: limits with their rule and its source. Told, never in the way."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from buildlog.queries.plan_widths import DraftOpening, locked_because
from planking.rounding import from_nm
from planking.scales import Scale
from planking.shown_lengths import show_full_size, show_mm


@dataclass(frozen=True)
class WidthWarning:
    """One station where strakes of one width run against a limit."""

    kind: str
    labels: tuple[str, ...]
    station: object
    sentence: str
    rule: str


def warnings_of(draft: DraftOpening) -> list[WidthWarning]:
    """Return the warnings of a draft, worst kind first, strakes of one width at a station told together."""
    build = draft.opening.build
    scale = Scale(build.scale_num, build.scale_den) if build.scale_num else None
    found: dict[tuple, list[str]] = {}
    full_nm = draft.full_nm()
    for strake in draft.strakes:
        if locked_because(strake):
            continue
        widest = max((w.width_nm for w in strake.widths.values()), default=0)
        for station in draft.stations:
            width = strake.widths.get(station.pk)
            for kind, limit_nm in _against(draft, width.width_nm, widest, full_nm) if width else ():
                found.setdefault((kind, station.pk, width.width_nm, limit_nm), []).append(strake.label)
    by_pk = {station.pk: station for station in draft.stations}
    order = {"narrow": 0, "stock": 1, "wide": 2}
    keys = sorted(found, key=lambda key: (order[key[0]], by_pk[key[1]].position))
    return [_warning(draft, key, found[key], by_pk[key[1]], scale) for key in keys]


def _against(draft, width_nm, widest_nm, full_nm):
    """Return each limit this width runs against, with the length it is held against."""
    if width_nm * 1000 < draft.plan.narrow_permille * widest_nm:
        yield "narrow", widest_nm
    stock_nm = draft.opening.stock_width_nm
    if stock_nm and width_nm > stock_nm:
        yield "stock", stock_nm
    if full_nm and width_nm * 1000 > draft.plan.wide_permille * full_nm:
        yield "wide", full_nm


def _warning(draft, key, labels, station, scale) -> WidthWarning:
    kind, _pk, width_nm, limit_nm = key
    told = {
        "who": _("Strake %(label)s") % {"label": labels[0]} if len(labels) == 1
        else _("Strakes %(labels)s") % {"labels": ", ".join(labels)},
        "at": station.name, "width": _length(width_nm, scale), "limit": _length(limit_nm, scale),
    }  # fmt: skip
    narrow, wide = draft.plan.narrow_permille / 10, draft.plan.wide_permille / 10
    sentence, rule = {
        "narrow": (
            _("%(who)s at %(at)s: %(width)s against %(limit)s at the widest. A drop strake would keep its width."),
            _("Not less than %(share)g %% of the widest; a rule of thumb, from a model builder's article of 2006.")
            % {"share": narrow},
        ),
        "stock": (
            _("%(who)s at %(at)s: %(width)s, and the stock is %(limit)s wide."),
            _("Not wider than the wood in hand."),
        ),
        "wide": (
            _("%(who)s at %(at)s: %(width)s against a full width of %(limit)s. A stealer would bring it back."),
            _("Not more than %(share)g %% of the full width; common practice, no source.") % {"share": wide},
        ),
    }[kind]
    return WidthWarning(kind, tuple(labels), station, sentence % told, rule)


def _length(nm, scale) -> str:
    """Both sizes, the ship's first: 3 13/16 in (2.01 mm); what a sixteenth cannot hold is told in tenths."""
    mm = f"{show_mm(from_nm(nm))} mm"
    if scale is None:
        return mm
    shown = show_full_size(from_nm(nm), scale)
    inches = scale.to_full_size_mm(from_nm(nm)) * 10 / 254
    # A nanometre on the model is no true remainder.
    exact = abs(shown.remainder_mm) * 1000 < scale.to_model_mm(1)
    text = shown.text if exact else f"{show_mm(inches, 1)} in"
    return f"{text} ({mm})"
