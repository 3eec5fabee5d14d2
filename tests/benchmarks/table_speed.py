"""Ten thousand rows of widths in and out, through the pages, on a log of its own.

    python -m tests.benchmarks.table_speed

One run of each after the pages were met once. Writes its table into tests/benchmarks/RESULTS.md.
"""

import os
import resource
import tempfile
import time
from pathlib import Path

RESULTS = Path(__file__).with_name("RESULTS.md")
HEAD, FOOT = "<!-- tables: begin -->", "<!-- tables: end -->"
ROWS = 10_000


def rows_of_widths() -> bytes:
    lines = ["strake,station,mm,date"]
    for n in range(ROWS):
        when = f"2026-02-{n // 15 % 28 + 1:02d} {n // 420 % 24:02d}:{n % 60:02d}"
        lines.append(f"{n % 5 + 1},{'FMA'[n % 3]},{5 + n % 19 / 100:.2f},{when}")
    return "\n".join(lines).encode()


def timed(work):
    began = time.perf_counter()
    answer = work()
    return answer, time.perf_counter() - began


def measure() -> list[tuple[str, str]]:
    import django

    django.setup()
    from django.core.files.uploadedfile import SimpleUploadedFile
    from django.core.management import call_command
    from django.test import Client
    from django.urls import reverse

    from buildlog.models import Account, Reading, TableImport
    from tests.hulls import lay_down_hull

    call_command("migrate", verbosity=0)
    account = Account.objects.create_account("bench", "a long bench password")
    build, client = lay_down_hull(account).build, Client(HTTP_HOST="localhost")
    client.force_login(account)

    def at(name, *more):
        return reverse(name, args=[build.uuid, *more])

    client.get(at("table-list"))
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    file = SimpleUploadedFile("widths.csv", rows_of_widths())
    sent, send_s = timed(lambda: client.post(at("table-send"), {"file": file}))
    page, look_s = timed(lambda: client.get(sent.url))
    assert b"10000 readings would come in." in page.content
    table = TableImport.objects.get()
    _answer, take_s = timed(lambda: client.post(at("table-take", table.uuid)))
    assert Reading.objects.count() == ROWS
    _answer, out_s = timed(lambda: client.get(at("table-file", "widths")))
    _answer, undo_s = timed(lambda: client.post(at("table-undo", table.uuid)))
    assert not Reading.objects.filter(amendment=None).exists()
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    return [
        ("sent in and kept, s", f"{send_s:.1f}"), ("looked at: the dry run and its page, s", f"{look_s:.1f}"),
        ("taken in, s", f"{take_s:.1f}"), ("given out as widths.csv, s", f"{out_s:.1f}"),
        ("undone, s", f"{undo_s:.1f}"),
        ("growth of peak memory over all of it, MB", f"{grown:.0f}"),
    ]  # fmt: skip


def write(found) -> None:
    lines = [
        HEAD, "## Tables", "",
        "`python -m tests.benchmarks.table_speed`: 10,000 rows of widths through the pages, SQLite, one run, wall time "
        "on two cores shared with other work.",
        "", "| what | measured |", "|---|---|", *(f"| {what} | {value} |" for what, value in found), FOOT,
    ]  # fmt: skip
    old = RESULTS.read_text("utf-8")
    kept = old[: old.index(HEAD)] + old[old.index(FOOT) + len(FOOT) :] if HEAD in old else old
    RESULTS.write_text(kept.rstrip("\n") + "\n\n" + "\n".join(lines) + "\n", "utf-8")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "buildlog.settings", "SITE_URL": "http://localhost"}
        found = measure()
    for what, value in found:
        print(f"{what}: {value}")
    write(found)
