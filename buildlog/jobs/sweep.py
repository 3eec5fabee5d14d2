"""The daily sweep: files that no row names any more, jobs that ended long ago, tables never taken in, what phones
sent long ago.
"""

from dataclasses import asdict

from buildlog.actions.jobs import forget_old_jobs
from buildlog.actions.tables import forget_old_tables
from buildlog.archive import build_shelf
from buildlog.photos import sweep
from buildlog.queries.photos import is_key_named
from buildlog.site import clock
from buildlog.site.taken_items import forget_old_items


def sweep_files(job, tell) -> dict:
    count = 0

    def named(key: str) -> bool:
        nonlocal count
        count += 1
        if count % 500 == 0:
            tell(f"{count} files looked at")
        return is_key_named(key, now=clock.now())

    swept = sweep.sweep(named, now=clock.now().timestamp())
    old_files = build_shelf.clear_old(clock.now())
    old_tables = forget_old_tables(now=clock.now())
    return asdict(swept) | {
        "old_jobs": forget_old_jobs(now=clock.now()), "old_build_files": old_files, "old_tables": old_tables,
        "old_items": forget_old_items(now=clock.now()),
    }  # fmt: skip
