"""How long the pages of the sample hull take on the server: Plan, Hull, the sums, drift.

    python -m tests.benchmarks.page_speed

A throw-away log; processor time through the whole of Django and SQLite, median of 20 after 3, each page with the
reviews kept (nothing changed since the last page) and after a reading came in (the opening is reckoned anew).
"""

import os
import sys
import tempfile

from tests.benchmarks.cell_speed import RESULTS, cpu_ms

HEAD, FOOT = "<!-- pages: begin -->", "<!-- pages: end -->"
PAGES = [("Plan", "plan"), ("Hull", "hull"), ("the sums of port", "opening-sums"), ("drift", "drift-list"),
         ("gap check", "gap-check")]  # fmt: skip
GOAL_MS = 150


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "buildlog.settings", "RECKONER_NO_VENV": "1"}
        rows = measure()
    told = "\n".join([
        HEAD, "## Pages", "",
        "`python -m tests.benchmarks.page_speed`: the sample hull (two sides, 19 strakes each, 11 stations), processor "
        "time of one request, median of 20 after 3.", "",
        "| page | ms | ms where a fact came in since | goal under |", "|---|---|---|---|",
        *(f"| {name} | {kept:.0f} | {anew:.0f} | {GOAL_MS} |" for name, kept, anew in rows),
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


def measure() -> list[tuple[str, float, float]]:
    import django

    django.setup()
    from django.conf import settings
    from django.core.management import call_command
    from django.test import Client
    from django.urls import reverse

    from buildlog.actions.events import raise_serial
    from buildlog.models import Account
    from buildlog.sample.story import tell_story

    # Names of files with a digest need collected files, which a throw-away log has not.
    settings.STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    call_command("migrate", verbosity=0)
    account = Account.objects.create_account("bench", "a long bench password")
    build = tell_story(account)
    port = build.openings.get(side="port")
    browser = Client(HTTP_HOST="localhost")
    browser.force_login(account)
    rows = []
    for name, url in PAGES:
        args = [build.uuid, port.uuid] if url in ("opening-sums", "gap-check") else [build.uuid]
        address = reverse(url, args=args)

        def look(address=address):
            if browser.get(address).status_code != 200:
                raise RuntimeError(address)

        def look_anew(look=look):
            raise_serial(port)
            look()

        rows.append((name, cpu_ms(look), cpu_ms(look_anew)))
    return rows


if __name__ == "__main__":
    raise SystemExit(main())
