"""Bring the database to the tables of this version: never backwards, and never without a backup."""

from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import DEFAULT_DB_ALIAS, OperationalError, connections
from django.db.migrations.executor import MigrationExecutor

from buildlog.archive import before_migration
from buildlog.archive.trouble import ArchiveTrouble

from . import log
from .disk import DiskFull, require_room


def bring_up_to_date(say) -> None:
    """Apply what is missing; back the records up first where there are any."""
    connection = connections[DEFAULT_DB_ALIAS]
    try:
        executor = MigrationExecutor(connection)
    except OperationalError as problem:
        raise CommandError(
            f"The database cannot be opened: {str(problem).strip().splitlines()[0]}."
        ) from problem
    _refuse_newer(executor)
    missing = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if not missing:
        return
    if executor.loader.applied_migrations:
        say(f"Bringing the records to this version ({len(missing)} steps) ...")
        _back_up_first(say)
    call_command("migrate", interactive=False, verbosity=0)
    log.note("migrated", steps=len(missing))


def _refuse_newer(executor: MigrationExecutor) -> None:
    known = set(executor.loader.disk_migrations)
    unknown = sorted(name for name in executor.loader.applied_migrations if name not in known)
    ours = [name for app, name in unknown if app == "buildlog"]
    if ours:
        raise CommandError(
            f"These records were written by a newer version of Strake Reckoner ({ours[-1]}). Start that one."
        )


def _back_up_first(say) -> None:
    """Make the verified backup that a migration of existing records stands on."""
    try:
        require_room()
        before_migration(say)
    except DiskFull:
        raise CommandError("There is too little room on the disk to change the records safely.") from None
    except ArchiveTrouble as trouble:
        raise CommandError(f"No backup could be made, so nothing was changed: {trouble}") from None
