"""Make a backup that somebody asked for in Shed."""

from buildlog.archive.upkeep import make_asked_backup
from buildlog.site import clock


def back_up(job, tell) -> dict:
    report = make_asked_backup(now=clock.now(), say=tell)
    return {
        "file": report.path.name,
        "bytes": report.size,
        "rows": report.rows,
        "photographs": report.photographs,
        "missing": len(report.missing),
    }
