"""Port beside starboard, as the seam-height ladder, the butterfly and their tables are told it."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from buildlog.pictures.butterfly import Wings, butterfly
from buildlog.pictures.drawing import half_cuts
from buildlog.pictures.seam_ladder import Rung, RungDot, seam_ladder

CUTS = (328, 548)


@dataclass(frozen=True)
class SeamRow:
    """One seam in the table: the strake it is inside of, and a seam or nothing for each station."""

    strake: str
    run: str
    cells: tuple


def ladder_of(both):
    """Return the ladder in its cuts, or None where no strake was read on both sides."""
    rungs = [
        Rung(row.strake, row.run, tuple(
            RungDot(seam.station, seam.apart_mm, seam.forgiven_mm < both.limit_mm, seam.is_seen)
            for seam in row.cells if seam
        ))
        for row in seam_rows(both)
    ]  # fmt: skip
    if not rungs:
        return None
    key = f"ladder-{both.port.pk}"
    return half_cuts(*(
        seam_ladder(rungs, width, limit_mm=both.limit_mm, limit_at_ends_mm=both.limit_at_ends_mm,
                    summary=seam_words(both), key=key)
        for width in CUTS
    ))  # fmt: skip


def butterfly_of(both):
    """Return the butterfly in its cuts, or None where nothing was read."""
    if not both.strakes:
        return None
    wings = [Wings(one.label, one.port_mm, one.starboard_mm, one.is_apart) for one in both.strakes]
    key = f"butterfly-{both.port.pk}"
    return half_cuts(*(butterfly(wings, width, summary=strake_words(both), key=key) for width in CUTS))


def seam_rows(both) -> list[SeamRow]:
    """Return the seams from the wale to the keel, each with its stations aft to forward as in the pictures."""
    found = {}
    for seam in both.seams:
        found.setdefault((seam.from_line, seam.strake), {})[seam.station] = seam
    order = {label: index for index, label in enumerate(both.order)}
    rows = [
        SeamRow(strake, run, tuple(at.get(name) for name in reversed(both.stations)))
        for (run, strake), at in found.items()
    ]
    return sorted(rows, key=lambda row: order[row.strake])


def apart_as_shown(one) -> float | None:
    """Return how unlike a strake is cut on the two sides: the difference of its two figures as they are shown."""
    if one.apart_mm is None:
        return None
    return round(one.port_mm, 2) - round(one.starboard_mm, 2)


def apart_words(apart_mm: float) -> str:
    """Return which side covers more, and by how much, as the hundredth is shown."""
    figure = f"{abs(apart_mm):.2f}"
    if figure == "0.00":
        return _("alike")
    return f"{'■' if apart_mm > 0 else '●'}\N{NO-BREAK SPACE}{figure}"


def seam_words(both) -> str:
    """Return what the seams come to in one sentence, with the limit."""
    seen = sorted((seam for seam in both.seams if seam.is_seen), key=lambda seam: -abs(seam.apart_mm))
    one = max(both.seams, key=lambda seam: abs(seam.apart_mm)) if not seen else seen[0]
    told = {
        "apart": f"{abs(one.apart_mm):.2f}", "station": _station(one.station), "strake": one.strake,
        "side": _("port") if one.apart_mm > 0 else _("starboard"), "limit": f"{one.forgiven_mm:.1f}",
    }  # fmt: skip
    if seen:
        return _("Inside strake %(strake)s at %(station)s the seams differ by %(apart)s mm, over the limit of "
                 "%(limit)s: %(side)s has covered more.") % told  # fmt: skip
    if abs(one.apart_mm) > one.forgiven_mm:
        return _("The seams differ most inside strake %(strake)s at %(station)s, by %(apart)s mm; that could be the "
                 "reading, so it is not called over the limit of %(limit)s.") % told  # fmt: skip
    return _("The seams differ most inside strake %(strake)s at %(station)s, by %(apart)s mm, under the limit of "
             "%(limit)s.") % told  # fmt: skip


def strake_words(both) -> str:
    """Return which strake is cut most unlike on the two sides."""
    read = [one for one in both.strakes if one.apart_mm is not None]
    if not read:
        return _("No strake was read on both sides yet.")
    one = max(read, key=lambda strake: abs(strake.apart_mm) - strake.limit_mm)
    apart_mm = apart_as_shown(one)
    told = {"strake": one.label, "apart": f"{abs(apart_mm):.2f}", "limit": f"{one.limit_mm:.2f}",
            "side": _("port") if apart_mm > 0 else _("starboard")}  # fmt: skip
    if one.is_apart:
        return _("Strake %(strake)s is cut %(apart)s mm wider to %(side)s on the whole, over the limit of "
                 "%(limit)s.") % told  # fmt: skip
    return _("No strake is cut so unlike on the two sides as to show; %(strake)s comes nearest, %(apart)s mm wider to "
             "%(side)s, the limit %(limit)s.") % told  # fmt: skip


def hands_words(found) -> str:
    """Return whose planks come out wider, where the chart of habit finds that the hands differ."""
    if not found.hands_differ:
        return ""
    told = {"mm": f"{abs(found.hands_apart_mm):.2f}"}
    if found.hands_apart_mm > 0:
        return _("Port is cut wider than starboard, about %(mm)s mm a strake.") % told
    return _("Starboard is cut wider than port, about %(mm)s mm a strake.") % told


def closing_words(found) -> list[str]:
    """Return where the closing strakes differ by over a tenth, and which is the wider."""
    return [
        _("At %(station)s the closing strakes differ by over a tenth: %(side)s is %(mm)s mm wider.")
        % {"station": _station(name), "mm": f"{abs(mm):.2f}", "side": _("port") if mm > 0 else _("starboard")}
        for name, mm in found.closing_apart
    ]


def count_words(found) -> list[str]:
    """Return where the sides have unlike counts of strakes, one sentence for all stations with the same two counts."""
    stations: dict[tuple[int, int], list[str]] = {}
    for one in found.counts:
        stations.setdefault((one.port, one.starboard), []).append(_station(one.station))
    return [
        _("At %(stations)s port has %(port)s strakes and starboard %(starboard)s.")
        % {"stations": _listed(names), "port": port, "starboard": starboard}
        for (port, starboard), names in stations.items()
    ]


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else _("%(some)s and %(last)s") % {
        "some": ", ".join(names[:-1]), "last": names[-1],
    }  # fmt: skip


def off_words(mm) -> str:
    """Return how far a strake is off what it was cut to, by sign and figure."""
    if mm is None:
        return "–"
    figure = f"{abs(mm):.2f}"
    return figure if figure == "0.00" else f"{'▲' if mm > 0 else '▼'}\N{NO-BREAK SPACE}{figure}"


def _station(name) -> str:
    return _("dead flat") if name == "⊗" else name
