"""What a printer was measured to do: the last check of each printer, paper and direction."""

from dataclasses import dataclass

from buildlog.models import PrinterCheck


@dataclass(frozen=True)
class Printed:
    """One printer on one paper: its last check each way, and how often it was checked along."""

    printer: str
    paper: str
    along: PrinterCheck | None
    across: PrinterCheck | None
    checks: int

    @property
    def is_true(self) -> bool:
        """Whether both ways were measured and come out within 0.1 mm on 100 (what a rule reads; common practice)."""
        return all(one is not None and abs(share_of(one) - 1) <= 0.001 for one in (self.along, self.across))


def share_of(check) -> float:
    """Return what a length comes out as, as a share of what it should be."""
    return check.measured_nm / check.nominal_nm


def printers_of(build) -> list[Printed]:
    """Return the printers of a build, the one checked last first. One query."""
    found: dict[tuple[str, str], list] = {}
    rows = PrinterCheck.objects.filter(build=build).select_related("person")
    for check in rows.order_by("-happened_at", "-pk"):
        found.setdefault((check.printer.casefold(), check.paper), []).append(check)
    return [_printed(checks) for checks in found.values()]


def _printed(checks) -> Printed:
    last = {way: next((c for c in checks if c.direction == way), None) for way in PrinterCheck.Direction.values}
    times = sum(check.direction == "along" for check in checks)
    return Printed(checks[0].printer, checks[0].paper, last["along"], last["across"], times)
