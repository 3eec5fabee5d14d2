"""A printer is checked by two bars of known length, one along the sheet and one across."""

from django.db import transaction

from buildlog.models import PrinterCheck

from .events import tell_event


def check_printer(build, *, printer, paper, nominal_nm, along_nm, across_nm, person, now) -> list[PrinterCheck]:
    """Keep how long both bars came out. Earlier checks stay; the latest counts."""
    with transaction.atomic():
        checks = [
            PrinterCheck.objects.create(
                build=build, printer=printer, paper=paper, direction=direction, nominal_nm=nominal_nm,
                measured_nm=measured_nm, person=person, happened_at=now, known_at=now, received_at=now,
            )
            for direction, measured_nm in (("along", along_nm), ("across", across_nm))
        ]  # fmt: skip
        tell_event("recorded", checks[0], build=build, now=now, person=person)
    return checks
