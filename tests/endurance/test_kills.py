"""The short form: a few kills under writers. `python -m tests.endurance.kills` is the long one."""

import contextlib
import shutil
import sqlite3

from tests.endurance.found import look
from tests.endurance.kills import as_table, run


def test_nothing_acknowledged_is_lost_when_the_server_is_killed(tmp_path):
    outcome = run(tmp_path / "data", kills=4, writers=8, seed=7)

    assert outcome.found.faults == {}, as_table(outcome)
    assert outcome.said.odd == []
    assert not [status for status in outcome.said.answers if status >= 500]
    assert outcome.doctor.startswith("exit 0")
    # A run that wrote nothing would find nothing lost.
    assert len(outcome.said.readings) >= 30
    assert len(outcome.said.photos) >= 5
    assert outcome.said.sent_again >= 4
    find_what_is_taken_away(tmp_path, outcome.said)


def find_what_is_taken_away(folder, said):
    """Spoil what is there, one thing after another, and see that each is found: the look itself can fail."""
    data = folder / "spoilt"
    shutil.copytree(folder / "data", data)
    originals = sorted((data / "photos" / "originals").glob("*/*/*"))
    originals[0].unlink()
    originals[1].write_bytes(b"")
    with contextlib.closing(sqlite3.connect(data / "reckoner.sqlite3")) as database:
        rows = "SELECT pk FROM (SELECT id AS pk FROM buildlog_reading ORDER BY id LIMIT 2)"
        database.execute(f"DELETE FROM buildlog_reading WHERE id IN ({rows})")
        database.execute(
            "UPDATE buildlog_photo SET state = 'received' WHERE id = (SELECT MIN(id) FROM buildlog_photo)"
        )
        database.commit()

    faults = look(data, said).faults

    assert faults["rows without file"] == 1
    assert faults["files with other bytes"] == 1
    assert faults["lost readings"] == 2
    assert faults["photographs not ready"] == 1
