import json
from dataclasses import asdict

from django.core.management.base import BaseCommand, CommandError

from buildlog.site import doctor
from buildlog.site.clock import now


class Command(BaseCommand):
    help = "Look at the records, the disk, the photographs, the backups and the settings as they stand now."
    # The findings themselves say what the checks would have stopped at.
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("--json", action="store_true", help="the findings as JSON")
        parser.add_argument(
            "--files", action="store_true", help="read every photograph whole, not only its size"
        )

    def handle(self, *args, **options):
        findings = doctor.examine(now(), read_files=options["files"])
        trouble = [finding for finding in findings if finding.state == doctor.TROUBLE]
        if options["json"]:
            told = {"well": not trouble, "findings": [asdict(finding) for finding in findings]}
            self.stdout.write(json.dumps(told, indent=2))
        else:
            for finding in findings:
                self.stdout.write(f"{finding.state:8} {finding.topic}: {finding.says}")
        if trouble:
            raise CommandError(f"{len(trouble)} of {len(findings)} findings are trouble.", returncode=1)
