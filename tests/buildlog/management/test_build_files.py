"""export_build and import_build as a person runs them, and a machine that stops in the middle."""

import os
import shutil
import signal
from pathlib import Path

import pytest

from tests.buildlog.archive.build_kit import members_of
from tests.buildlog.archive.conftest import ROOT, manage, python, table_of

_LAY_DOWN = """
import django
django.setup()
from django.core.management import call_command
from buildlog.jobs import worker
from buildlog.models import Account
from tests.buildlog.archive.conftest import send_photo
from tests.hulls import lay_down_hull

call_command("migrate", verbosity=0)
account = Account.objects.create_account("owner")
if BUILD:
    hull = lay_down_hull(account)
    for seed in range(3):
        send_photo(hull, seed)
    worker.run_pending()
"""


def lay_down(data, build):
    done = python(f"BUILD = {build}\n{_LAY_DOWN}", data=data)
    assert done.returncode == 0, done.stderr


@pytest.fixture(scope="module")
def carried(tmp_path_factory):
    """A build with three photographs in a file, and the log it came from."""
    folder = tmp_path_factory.mktemp("carried")
    lay_down(folder / "data", build=True)
    done = manage("export_build", "Test hull", folder / "hull.zip", data=folder / "data")
    assert done.returncode == 0, done.stderr
    assert "3 photographs" in done.stdout
    return folder / "hull.zip"


@pytest.fixture(scope="module")
def nothing_in_it(tmp_path_factory):
    """A log laid down once; each test has a copy of it."""
    data = tmp_path_factory.mktemp("nothing") / "data"
    lay_down(data, build=False)
    return data


@pytest.fixture
def empty(nothing_in_it, tmp_path):
    return Path(shutil.copytree(nothing_in_it, tmp_path / "data"))


def test_build_goes_from_one_log_into_another_and_out_again_the_same(carried, empty, tmp_path):
    taken = manage("import_build", carried, data=empty)
    saved = manage("export_build", "Test hull", tmp_path / "again.zip", data=empty)

    assert (taken.returncode, saved.returncode) == (0, 0), taken.stderr + saved.stderr
    assert "Test hull is here, owned by owner" in taken.stdout
    first, again = members_of(carried), members_of(tmp_path / "again.zip")
    assert first["build.json"] == again["build.json"]
    assert {name: text for name, text in first.items() if "READ" not in name and "SUMS" not in name} == {
        name: text for name, text in again.items() if "READ" not in name and "SUMS" not in name
    }


@pytest.mark.parametrize(("arguments", "words"), [
    (["import_build", "nowhere.zip"], "is not a file"),
    (["import_build", "{carried}", "nobody"], "nobody signs in as nobody"),
    (["import_build", str(ROOT / "README.md")], "is not a ZIP file"),
    (["export_build", "No such build", "x.zip"], "there is no build"),
])  # fmt: skip
def test_what_cannot_be_done_is_said_in_a_sentence(carried, empty, arguments, words):
    done = manage(*(each.format(carried=carried) for each in arguments), data=empty)

    assert done.returncode == 2
    assert words in done.stderr
    assert "Traceback" not in done.stderr


_STOP_AT = """
import os, signal
import django
django.setup()
from buildlog.archive import build_import
from buildlog.photos import store
from pathlib import Path
from buildlog.jobs.build_files import take_in_for
from buildlog.models import Account, Photo

seen = 0
def stop(*_, **__):
    os.kill(os.getpid(), signal.SIGKILL)

{where}
take_in_for(Account.objects.get(), Path({path!r}), as_copy=False, name="", say=lambda says: None)
"""
_PLACES = {
    "at the second photograph": """
kept = store.store
def store_or_stop(file):
    global seen
    seen += 1
    return stop() if seen == 2 else kept(file)
build_import.store.store = store_or_stop
""",
    "in the middle of the rows": """
lay = build_import._lay_down_table
def lay_or_stop(model, rows, pks):
    return stop() if model is Photo else lay(model, rows, pks)
build_import._lay_down_table = lay_or_stop
""",
    "before the transaction ends": """
from buildlog.jobs import build_files
build_files.welcome_build = stop
""",
}


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
@pytest.mark.parametrize("where", _PLACES)
def test_killed_import_leaves_no_row_and_can_be_run_again(carried, empty, where):
    killed = python(_STOP_AT.format(where=_PLACES[where], path=str(carried)), data=empty)

    assert killed.returncode == -signal.SIGKILL, killed.stderr
    for table in ("build", "photo", "reading", "strake", "membership", "person", "job"):
        assert table_of(empty, f"SELECT count(*) FROM buildlog_{table}") == [(0,)], table
    again = manage("import_build", carried, data=empty)
    assert again.returncode == 0, again.stderr
    assert table_of(empty, "SELECT count(*) FROM buildlog_photo WHERE state = 'ready'") == [(3,)]
