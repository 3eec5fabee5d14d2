"""The child process that decodes one photograph, with its memory and processor time capped, behind the pages.

Started as `python -m buildlog.photos.child SOURCE FOLDER [EDITS]`, the edits as JSON. It writes FOLDER/large.jpg,
middle.jpg and small.jpg and prints one line of JSON: {"made": {...}}, or {"reason": ...} with a reason that
buildlog.photos.refusals has a sentence for, or {"machine": errno} where the disk or the system was in the way, which
says nothing about the picture. Django is not imported: the child starts in a tenth of a second and holds nothing but
one picture.
"""

import json
import os
import sys
import warnings
from pathlib import Path

from buildlog.photos.facts import CutShort, Damaged
from buildlog.photos.limits import BEHIND_THE_PAGES, CHILD_CPU_SECONDS, CHILD_MEMORY


def main(source: str, folder: str, edits: str = "{}") -> int:
    _cap_this_process()
    print(json.dumps(answer(Path(source), Path(folder), json.loads(edits))), flush=True)
    return 0


def answer(source: Path, folder: Path, edits: dict | None = None) -> dict:
    """Return what the picture came to; never raises for what a file holds."""
    from buildlog.photos.render import renditions

    try:
        return {"made": renditions(source.read_bytes(), folder, edits)}
    except MemoryError:
        return {"reason": "too_hard"}
    except CutShort:
        return {"reason": "cut_short"}
    except (
        Damaged,
        OSError,
        SyntaxError,
        ValueError,
        TypeError,
        ArithmeticError,
        LookupError,
        Warning,
    ) as trouble:
        if isinstance(trouble, OSError) and trouble.errno:
            # The system gives a number to what it could not do; a decoder that gives up on a file has none.
            return {"machine": trouble.errno, "detail": str(trouble)[:300]}
        # A decoder meets a broken file in any of these ways; none of them says anything about this program.
        return {"reason": _reason_of(trouble), "detail": f"{type(trouble).__name__}: {trouble}"[:300]}


def _reason_of(trouble: BaseException) -> str:
    text = str(trouble)
    if "truncated" in text:
        return "cut_short"
    return "too_hard" if "memory" in text.lower() else "damaged"


def _cap_this_process() -> None:
    warnings.simplefilter("error")
    if hasattr(os, "nice"):
        # Twenty photographs must not hold up who types widths meanwhile.
        os.nice(BEHIND_THE_PAGES)
    try:
        import resource
    except ImportError:  # Windows has no such limits; the parent's wall clock still holds there.
        return
    memory = min(CHILD_MEMORY, int(os.environ.get("RECKONER_CHILD_MEMORY", CHILD_MEMORY)))
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_CPU, (CHILD_CPU_SECONDS, CHILD_CPU_SECONDS))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:4]))
