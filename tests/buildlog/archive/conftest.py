"""A log with rows and photographs in a data folder of its own, and commands run as a person runs them."""

import contextlib
import os
import sqlite3
import subprocess
import sys
import uuid
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

ROOT = Path(__file__).resolve().parents[3]
NOW = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)


@pytest.fixture
def own_data(settings, tmp_path):
    """Point the settings at an empty data folder (the database stays the tests' own)."""
    settings.DATA_DIR = tmp_path / "data"
    settings.MEDIA_ROOT = settings.DATA_DIR / "photos"
    settings.DATA_DIR.mkdir()
    return settings.DATA_DIR


@pytest.fixture
def second_databases(db, monkeypatch):
    """Let a test open the databases that a backup opens beside the default one."""
    from django.db.backends.base.base import BaseDatabaseWrapper

    guarded = BaseDatabaseWrapper.ensure_connection

    def ensure_connection(self):
        if self.alias == "default":
            guarded(self)
        elif self.connection is None:
            with self.wrap_database_errors:
                self.connect()

    monkeypatch.setattr(BaseDatabaseWrapper, "ensure_connection", ensure_connection)


@pytest.fixture
def bare_log(own_data, transactional_db, second_databases, hull):
    """A hull without photographs, and a link key."""
    (own_data / "link_key").write_bytes(b"a key of thirty-two bytes, or so")
    return hull


@pytest.fixture
def log(bare_log):
    """A hull with three photographs that are ready, one that was refused, and a link key."""
    from buildlog.jobs import worker

    hull = bare_log
    hull.photos = [send_photo(hull, seed) for seed in range(3)]
    hull.refused = send_photo(hull, 99, damaged=True)
    worker.run_pending()
    return hull


def send_photo(hull, seed, damaged=False):
    from buildlog.actions.photos import receive_photo
    from tests.buildlog.photos.file_parts import noise, saved

    content = saved(noise(400, 300, seed=seed), "PNG")
    if damaged:
        content = content[:3000] + b"\0" * 40 + content[3040:]
    file = SimpleUploadedFile(f"{seed}.png", content)
    return receive_photo(hull.build, hull.person, client_uuid=uuid.uuid4(), file=file, now=NOW)[0]


@pytest.fixture
def saved(own_data, owner, tmp_path):
    """A small build in a file, and no longer in the log."""
    from tests.buildlog.archive.build_kit import saved_and_gone
    from tests.hulls import lay_down_hull

    path = tmp_path / "small.zip"
    saved_and_gone(lambda: lay_down_hull(owner).build, path)
    return path


@pytest.fixture
def bundle(log, tmp_path):
    """A backup of the log."""
    from buildlog.archive.backup import make_backup

    return make_backup(tmp_path / "log.zip", now=NOW, say=lambda _: None).path


_LAY_DOWN = """
import django
django.setup()
from pathlib import Path
from django.conf import settings
from django.core.management import call_command
from buildlog.archive.backup import make_backup
from buildlog.jobs import worker
from buildlog.models import Account
from tests.buildlog.archive.conftest import NOW, send_photo
from tests.hulls import lay_down_hull

call_command("migrate", verbosity=0)
hull = lay_down_hull(Account.objects.create_account("owner"))
(settings.DATA_DIR / "link_key").write_bytes(b"a key of thirty-two bytes, or so")
for seed in range(4):
    send_photo(hull, seed, damaged=seed == 3)
worker.run_pending()
make_backup(Path(settings.DATA_DIR).parent / "log.zip", now=NOW, say=lambda _: None)
"""


@pytest.fixture(scope="session")
def _sample(tmp_path_factory):
    """The bytes of one backup, made once in a process of its own, away from the tests' database."""
    folder = tmp_path_factory.mktemp("sample")
    done = python(_LAY_DOWN, data=folder / "data")
    assert done.returncode == 0, done.stderr
    return (folder / "log.zip").read_bytes()


@pytest.fixture
def sample_bundle(_sample, tmp_path, second_databases):
    """A backup for tests that need no log beside it."""
    path = tmp_path / "log.zip"
    path.write_bytes(_sample)
    return path


def python(code, *, data, settings="buildlog.settings"):
    """Run some lines in a process of its own on a data folder."""
    return _run([sys.executable, "-W", "ignore", "-c", code], data, settings)


def manage(*arguments, data, settings="buildlog.settings"):
    """Run a command in a process of its own on a data folder and return the finished process."""
    return _run([sys.executable, str(ROOT / "manage.py"), *map(str, arguments)], data, settings)


def environment_of(data, settings="buildlog.settings"):
    kept = {name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "SITE_URL")}
    return kept | {"DATA_DIR": str(data), "RECKONER_NO_VENV": "1", "DJANGO_SETTINGS_MODULE": settings}


def _run(command, data, settings):
    environment = environment_of(data, settings)
    return subprocess.run(command, env=environment, cwd=ROOT, capture_output=True, text=True, timeout=300)


def table_of(data, question):
    """Ask the database in a data folder."""
    with contextlib.closing(sqlite3.connect(data / "reckoner.sqlite3")) as database:
        return database.execute(question).fetchall()
