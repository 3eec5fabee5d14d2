"""Have one photograph decoded in a capped child process."""

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from buildlog.photos.limits import CHILD_WALL_SECONDS
from buildlog.photos.refusals import refused

_PROJECT = Path(__file__).resolve().parents[2]


class ChildLost(Exception):
    """The child was ended from outside, which says nothing about the photograph: the job is to be taken up
    again.
    """

    # Whether the try is one of the few that a job has.
    counts = True


class MachineInTheWay(ChildLost):
    """The disk was full or could not be read, or the system had no more files to open: not the photograph's fault
    either, and tried again for as long as it lasts.
    """

    counts = False


@dataclass(frozen=True)
class Rendition:
    """One picture made by the child, still in the scratch folder."""

    size: str
    width: int
    height: int
    path: Path


def derive(source: Path, folder: Path, name: object = "", edits: dict | None = None) -> list[Rendition]:
    """Make the renditions of `source` in `folder`, largest first, or raise PhotoRefused with the sentence
    to show. ``edits`` says how it is cut and turned.
    """
    if not source.exists():
        raise ChildLost(f"there is no file {source.name}")
    answer = _answer_of_child(source, folder, name, edits or {})
    if "machine" in answer:
        raise MachineInTheWay(answer["detail"])
    if "reason" in answer:
        raise refused(answer["reason"], name)
    return [
        Rendition(size, width, height, folder / f"{size}.jpg")
        for size, (width, height) in answer["made"].items()
    ]


def _answer_of_child(source: Path, folder: Path, name: object, edits: dict) -> dict:
    try:
        done = subprocess.run(  # noqa: S603
            _command(source, folder, edits),
            cwd=_PROJECT,
            env=plain_environment(),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=CHILD_WALL_SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise refused("too_hard", name) from None
    if done.returncode == 0:
        return json.loads(done.stdout)
    return _verdict_on_failure(done)


def _command(source: Path, folder: Path, edits: dict) -> list[str]:
    told = [json.dumps(edits)] if edits else []
    return [sys.executable, "-m", "buildlog.photos.child", str(source), str(folder), *told]


def _verdict_on_failure(done: subprocess.CompletedProcess) -> dict:
    import signal

    if done.returncode in (-signal.SIGKILL, -signal.SIGTERM, -signal.SIGINT, -signal.SIGHUP):
        raise ChildLost(f"the child was ended by signal {-done.returncode}")
    # Out of processor time, or brought down by the file itself.
    return {"reason": "too_hard"}


def plain_environment() -> dict[str, str]:
    """Hand on what a Python needs to start and nothing that is a secret of the server."""
    kept = (
        "PATH",
        "SYSTEMROOT",
        "LANG",
        "LC_ALL",
        "TMPDIR",
        "TEMP",
        "TMP",
        "LD_LIBRARY_PATH",
        "RECKONER_CHILD_MEMORY",
    )
    return {key: os.environ[key] for key in kept if key in os.environ} | {"PYTHONUTF8": "1"}
