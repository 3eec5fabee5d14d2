"""How long a draft of the sample's plan takes: the page, and one cell saved and answered with its sum.

    python -m tests.benchmarks.cell_speed

A throw-away log; processor time through the whole of Django and SQLite, median of 20 after 3: on a machine that
does other things too, the clock on the wall measures those.
"""

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

RESULTS = Path(__file__).with_name("RESULTS.md")
HEAD, FOOT = "<!-- cells: begin -->", "<!-- cells: end -->"


def cpu_ms(call: Callable[[], object]) -> float:
    taken = []
    for _turn in range(23):
        start = time.process_time()
        call()
        taken.append((time.process_time() - start) * 1000)
    return statistics.median(taken[3:])


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "buildlog.settings", "RECKONER_NO_VENV": "1"}
        page_ms, cell_ms = measure()
    told = "\n".join([
        HEAD, "## A draft of the plan", "",
        "`python -m tests.benchmarks.cell_speed`: the sample hull's port side (19 strakes, 11 stations), processor "
        "time of one request, median of 20 after 3.", "",
        "| what | ms | goal under |", "|---|---|---|",
        f"| the page with every cell | {page_ms:.0f} | 150 |",
        f"| one cell changed: saved, answered with its sum and the warnings | {cell_ms:.0f} | 100 |",
        "", f"Python {sys.version.split()[0]}, SQLite.", FOOT,
    ])  # fmt: skip
    text = RESULTS.read_text(encoding="utf-8")
    if HEAD in text:
        text = text[: text.index(HEAD)] + told + text[text.index(FOOT) + len(FOOT) :]
    else:
        text = text.rstrip() + "\n\n" + told + "\n"
    RESULTS.write_text(text, encoding="utf-8")
    print(told)
    return 0


def measure() -> tuple[float, float]:
    import django

    django.setup()
    from datetime import UTC, datetime

    from django.conf import settings
    from django.core.management import call_command
    from django.test import Client
    from django.urls import reverse

    from buildlog.actions.plans import copy_revision
    from buildlog.models import Account, PlanWidth
    from buildlog.sample.story import tell_story

    # Names of files with a digest need collected files, which a throw-away log has not.
    settings.STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    call_command("migrate", verbosity=0)
    account = Account.objects.create_account("bench", "a long bench password")
    build = tell_story(account)
    standing = build.revisions.get(state="in_force")
    draft = copy_revision(standing, reason="", person=None, now=datetime.now(UTC))
    plan = draft.strakes.get(opening__side="port", label="7")
    station = build.stations.get(is_dead_flat=True)
    browser = Client(HTTP_HOST="localhost")
    browser.force_login(account)
    page = reverse("revision-edit", args=[build.uuid, draft.uuid]) + "?side=port"
    cell = reverse("plan-width-cell", args=[build.uuid, draft.uuid, plan.strake.uuid, station.uuid])
    turn = iter(range(1000))

    def change():
        now = PlanWidth.objects.get(plan_strake=plan, station=station)
        text = f"4.{40 + next(turn)}"
        sent = {f"w-{station.pk}": text, f"was-{station.pk}": f"{now.width_nm}|{now.typed}"}
        answer = browser.post(cell, sent, headers={"HX-Request": "true"})
        if answer.status_code != 200 or f'value="{text}"' not in answer.content.decode():
            raise RuntimeError(answer.content.decode())

    def look():
        if browser.get(page).status_code != 200:
            raise RuntimeError(page)

    return cpu_ms(look), cpu_ms(change)


if __name__ == "__main__":
    raise SystemExit(main())
