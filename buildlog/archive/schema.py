"""Which form the tables of a database have, by the migrations that were applied to it."""

from django.db import connections
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from buildlog.archive.trouble import NewerVersion

Steps = list[tuple[str, str]]


def applied(alias: str) -> Steps:
    """Return the migrations that a database says were applied to it."""
    return sorted(MigrationRecorder(connections[alias]).applied_migrations())


def refuse_newer(steps: Steps) -> None:
    """Raise NewerVersion when a database knows steps that this version has never heard of."""
    loader = MigrationLoader(None, ignore_no_migrations=True)
    ours = {app for app, _ in loader.disk_migrations}
    unknown = [name for app, name in steps if app in ours and (app, name) not in loader.disk_migrations]
    strange = sorted({app for app, _ in steps} - ours)
    if unknown or strange:
        raise NewerVersion(
            "This backup was made by a newer version of Strake Reckoner "
            f"(it knows {(unknown or strange)[-1]}). Restore it with that version."
        )


def apps_at(steps: Steps):
    """Return the models as they were when exactly these steps had been applied."""
    loader = MigrationLoader(None, ignore_no_migrations=True)
    return loader.project_state(steps, at_end=True).apps


def bring_to(alias: str, steps: Steps) -> None:
    """Apply exactly these steps to an empty database."""
    executor = MigrationExecutor(connections[alias])
    executor.migrate(_last_of_each_app(steps, executor.loader))


def _last_of_each_app(steps: Steps, loader: MigrationLoader) -> Steps:
    """Return the steps that no later one of the same app follows: to ask for an earlier one would go
    backwards.
    """
    among = set(steps)
    last = []
    for step in steps:
        later = {child.key for child in loader.graph.node_map[step].children if child.key[0] == step[0]}
        if not later & among:
            last.append(step)
    return last
