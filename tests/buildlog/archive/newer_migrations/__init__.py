"""The migrations of a version after this one: all of ours and two steps more, which only tests know."""

from pathlib import Path

from buildlog import migrations

__path__ = [*migrations.__path__, str(Path(__file__).parent)]
