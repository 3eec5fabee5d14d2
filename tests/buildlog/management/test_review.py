"""The drift report on a terminal: the pages' own words, and plain answers to what cannot be."""

import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from buildlog.measuring.reviews import review_of
from buildlog.sample.story import tell_story


def told(*args) -> str:
    out = StringIO()
    call_command("review", *args, stdout=out)
    return out.getvalue()


def test_sample_of_february_is_told_as_its_page_tells_it(owner):
    build = tell_story(owner)

    text = told(build.name, "--opening", "port")

    assert text.startswith("Port: spread it\n")
    assert review_of(build.openings.get(side="port")).sentence in text
    assert "Starboard" not in text
    assert sum(line.endswith("  spread it") for line in text.splitlines()) == 11


def test_a_day_before_is_told_as_it_was_known_then(owner):
    build = tell_story(owner)

    (port,) = json.loads(told(str(build.uuid), "--opening", "port", "--as-of", "2025-04-12", "--json"))

    assert port["verdict"] == "measure_gap"
    assert any("3 of 3 wide" in note["sentence"] for note in port["notes"])


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["Nobody"], "There is no build named 'Nobody'."),
        (["Test hull", "--opening", "starboard"], "is not one of this build's: port."),
        (["Test hull", "--as-of", "soon"], "--as-of: 'soon' is not a day"),
        (["Test hull", "--as-of", "9999-12-31"], "--as-of: '9999-12-31' is not a day"),
    ],
)
def test_what_cannot_be_is_said_plainly_with_code_2(hull, args, said):
    with pytest.raises(CommandError) as refused:
        told(*args)

    assert said in str(refused.value)
    assert refused.value.returncode == 2


def test_two_builds_of_one_name_ask_for_the_code(hull, owner):
    from tests.hulls import lay_down_hull

    lay_down_hull(owner)

    with pytest.raises(CommandError, match="2 builds are named"):
        told("Test hull")


def test_tables_of_an_older_version_are_said_and_nothing_is_reckoned(owner):
    build = tell_story(owner)
    latest = MigrationLoader(connection).graph.leaf_nodes("buildlog")[0]
    MigrationRecorder(connection).record_unapplied(*latest)

    with pytest.raises(CommandError, match="tables of this log are those of an older version") as refused:
        told(build.name)

    assert refused.value.returncode == 2
