from types import SimpleNamespace

import pytest
from django.core.management.base import CommandError
from django.db import OperationalError
from django.db.migrations.recorder import MigrationRecorder

from buildlog.archive.trouble import ArchiveTrouble
from buildlog.site import disk, upgrade

pytestmark = pytest.mark.django_db


@pytest.fixture
def steps(monkeypatch):
    """Stand in for what takes time, keeping the order in which it was called."""
    called = []
    monkeypatch.setattr(upgrade, "before_migration", lambda say: called.append("backup"))
    monkeypatch.setattr(upgrade, "call_command", lambda name, **options: called.append(name))
    return called


@pytest.fixture
def one_step_behind():
    """Take the newest step out of the record, as an older version would have left it."""
    recorder = MigrationRecorder.Migration.objects.filter(app="buildlog")
    newest = recorder.order_by("-id").first()
    newest.delete()
    return newest.name


def test_records_of_this_version_are_left_alone(steps):
    upgrade.bring_up_to_date(pytest.fail)

    assert steps == []


def test_existing_records_are_backed_up_before_they_are_changed(steps, one_step_behind):
    said = []

    upgrade.bring_up_to_date(said.append)

    assert steps == ["backup", "migrate"]
    assert said == ["Bringing the records to this version (1 steps) ..."]


def test_new_records_need_no_backup(steps):
    MigrationRecorder.Migration.objects.all().delete()

    upgrade.bring_up_to_date(pytest.fail)

    assert steps == ["migrate"]


def test_records_are_not_changed_when_the_backup_does_not_stand(steps, one_step_behind, monkeypatch):
    def refuse(say):
        raise ArchiveTrouble("the disk took 3 of 9 MB.")

    monkeypatch.setattr(upgrade, "before_migration", refuse)

    with pytest.raises(CommandError, match="nothing was changed: the disk took 3 of 9 MB"):
        upgrade.bring_up_to_date(print)
    assert steps == []


def test_records_are_not_changed_on_a_disk_that_is_nearly_full(steps, one_step_behind, monkeypatch):
    monkeypatch.setattr(disk, "free_enough", lambda: False)

    with pytest.raises(CommandError, match="too little room"):
        upgrade.bring_up_to_date(print)
    assert steps == []


def test_records_of_a_newer_version_are_refused(steps):
    MigrationRecorder.Migration.objects.create(
        app="buildlog", name="9999_from_the_future", applied="2030-01-01T00:00Z"
    )

    with pytest.raises(CommandError, match=r"newer version of Strake Reckoner \(9999_from_the_future\)"):
        upgrade.bring_up_to_date(print)
    assert steps == []


def test_database_that_cannot_be_opened_is_told_in_one_sentence(monkeypatch):
    def refuse(connection):
        raise OperationalError("unable to open database file\nand more")

    monkeypatch.setattr(upgrade, "MigrationExecutor", refuse)

    with pytest.raises(CommandError) as told:
        upgrade.bring_up_to_date(SimpleNamespace())
    assert str(told.value) == "The database cannot be opened: unable to open database file."
