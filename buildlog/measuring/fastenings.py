"""How each strake would be fastened by its width at full size: an old rule, told for whoever shows treenails."""

from dataclasses import dataclass
from fractions import Fraction

from planking.rounding import from_nm
from planking.scales import Scale
from planking.units import INCH_MM

DOUBLE, ALTERNATE, SINGLE = "double", "alternate", "single"
# Lloyd's rules of 1891, composite ships, section 7: 10 in and over double, 8 1/2 to 10 in double and single
# alternately, narrower single.
DOUBLE_IN, ALTERNATE_IN = Fraction(10), Fraction(17, 2)


@dataclass(frozen=True)
class Fastening:
    """The strakes that are fastened alike."""

    kind: str
    labels: tuple[str, ...]


def fastening_of(width_nm: int, scale: Scale) -> str:
    """Return how a strake of this width is fastened; a width is judged to the thousandth of an inch."""
    inches = scale.to_full_size_mm(from_nm(width_nm)) / INCH_MM
    judged = Fraction(round(inches * 1000), 1000)
    return DOUBLE if judged >= DOUBLE_IN else ALTERNATE if judged >= ALTERNATE_IN else SINGLE


def fastenings(rows, scale: Scale | None) -> list[Fastening]:
    """Return which strakes are fastened how; ``rows`` are pairs of label and width at the widest station."""
    if scale is None:
        return []
    found: dict[str, list[str]] = {DOUBLE: [], ALTERNATE: [], SINGLE: []}
    for label, width_nm in rows:
        found[fastening_of(width_nm, scale)].append(label)
    return [Fastening(kind, tuple(labels)) for kind, labels in found.items() if labels]
