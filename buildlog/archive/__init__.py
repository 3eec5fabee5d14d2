"""Backups: one ZIP with every row, every photograph and the link key, opened again and counted before it
says OK.
"""

from pathlib import Path


def before_migration(say=print) -> Path | None:
    """Make a verified backup before an existing database is changed; None where there is nothing to lose
    yet.
    """
    from buildlog.archive.upkeep import back_up_before_migration

    return back_up_before_migration(say)
