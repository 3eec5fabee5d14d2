"""What kinds of long work there are. A kind is a name in Job.kind and a function that does it.

The function gets the job and `tell`, to be called with a sentence at least once a minute: it shows how far
the work is and keeps the claim alive. What it returns is laid down as the job's result. It may be run twice
for one job, when a worker was killed just before the end, so it must come to the same then.
"""

from collections.abc import Callable
from datetime import timedelta
from importlib import import_module

from buildlog.models import Job

Tell = Callable[[str], None]
Work = Callable[[Job, Tell], dict]

# Heavy imports happen when a kind is first used, not when the server starts.
_WORKS = {
    "photo": "buildlog.jobs.photo.make_renditions",
    "backup": "buildlog.jobs.backup.back_up",
    "sweep": "buildlog.jobs.sweep.sweep_files",
    "save_build": "buildlog.jobs.build_files.save",
    "take_build": "buildlog.jobs.build_files.take_in",
}

# Work that the server gives itself, and how often.
REGULAR = {"sweep": timedelta(days=1)}

# A photograph takes a second and somebody waits for it; it goes before a backup that was asked for earlier.
QUICK = ("photo",)


def register(kind: str, path: str) -> None:
    """Add a kind of work, named by the dotted path of its function."""
    _WORKS[kind] = path


def work_of(kind: str) -> Work:
    """Return the function for a kind; KeyError for one that nobody registered."""
    module, _, name = _WORKS[kind].rpartition(".")
    return getattr(import_module(module), name)
