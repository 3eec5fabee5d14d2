"""Data folders made once for all journeys and copied for each: one with nothing in it, one with the sample hull."""

import json
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from tests.endurance.server import ROOT, environment_of, manage

# Not the name that the sample lets its club read.
BUILDER = "bench seven"
PASSWORD = "keel and garboard"


@dataclass(frozen=True)
class LaidDown:
    """Two folders, and of the sample: the cookie that its builder is signed in by, and the address of each page."""

    empty: Path
    sample: Path
    cookie: dict
    build: str
    pages: dict


def lay_down(folder: Path) -> LaidDown:
    """Make both folders under ``folder``, by processes of their own: this one has its own records open."""
    empty, sample = folder / "empty", folder / "sample"
    empty.mkdir()
    migrated = manage(empty, "migrate", "--verbosity=0")
    assert migrated.returncode == 0, migrated.stderr
    shutil.copytree(empty, sample)
    told = subprocess.run(
        [sys.executable, "-m", "tests.journeys.laid_down"], env=environment_of(sample), cwd=ROOT,
        capture_output=True, text=True, check=False, timeout=300,
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    return LaidDown(empty, sample, **json.loads(told.stdout))


def _fill_sample() -> dict:
    import django

    django.setup()
    from datetime import UTC, datetime

    from django.conf import settings
    from django.core.management import call_command
    from django.test import Client

    from buildlog.models import Account, Build
    from tests.photographs.pages import pages_of

    account = Account.objects.create_account(BUILDER, PASSWORD)
    call_command("load_sample", BUILDER, stdout=sys.stderr)
    build = Build.objects.get()
    browser = Client()
    browser.force_login(account)
    cookie = {"name": settings.SESSION_COOKIE_NAME, "value": browser.cookies[settings.SESSION_COOKIE_NAME].value}
    return {"cookie": cookie, "build": str(build.uuid), "pages": pages_of(build, datetime.now(UTC))}


if __name__ == "__main__":
    print(json.dumps(_fill_sample()))
