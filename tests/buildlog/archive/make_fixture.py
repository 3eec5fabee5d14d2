"""Write the schema as the tables are now, and keep a file of today's version where there is none yet.

    .venv/bin/python -m tests.buildlog.archive.make_fixture

The file is the sample hull without pictures, as its generator tells it; beside it stands what it holds, so that a later
version can be asked whether it finds as much. One that is there is never written over: it is what that version wrote.
"""

import json
from pathlib import Path

FIXTURES = Path(__file__).with_name("fixtures")


def make() -> None:
    from django.db.models import Sum

    from buildlog.archive import build_schema
    from buildlog.archive.build_export import save_build
    from buildlog.archive.build_tables import VERSION
    from buildlog.models import Account, Plank, PlanWidth, Reading
    from buildlog.sample.story import THE_END, tell_story

    build_schema.PATH.write_bytes(build_schema.written())
    path = FIXTURES / f"build_v{VERSION}.zip"
    if path.exists():
        return
    build = tell_story(Account.objects.create_account("keeper"), until=THE_END)
    save_build(build, path, originals=True, now=THE_END, say=print)
    widths = PlanWidth.objects.filter(plan_strake__revision__build=build)
    read = Reading.objects.filter(build=build, value_nm__isnull=False)
    told = {
        "name": build.name, "sessions": build.sessions.count(), "planks": Plank.objects.count(),
        "plan_widths": widths.count(), "plan_widths_nm": widths.aggregate(nm=Sum("width_nm"))["nm"],
        "readings": read.count(), "readings_nm": read.aggregate(nm=Sum("value_nm"))["nm"],
    }  # fmt: skip
    path.with_suffix(".json").write_text(json.dumps(told, indent=1) + "\n")


if __name__ == "__main__":
    import os
    import tempfile

    with tempfile.TemporaryDirectory() as data:
        os.environ |= {"DATA_DIR": data, "DJANGO_SETTINGS_MODULE": "buildlog.settings"}
        os.environ.pop("DATABASE_URL", None)
        import django
        from django.core.management import call_command

        django.setup()
        call_command("migrate", verbosity=0)
        make()
