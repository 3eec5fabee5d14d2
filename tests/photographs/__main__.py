"""Photograph every page of the sample hull and lay the pictures out on contact sheets.

    .venv/bin/python -m tests.photographs [--out FOLDER] [--only WORD] [--readme]

Phone and desk; light, dark and without colour. It uses a data folder of its own, thrown away at the end.
``--readme`` also renews the pictures that the README shows.
"""

import argparse
import os
import shutil
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.photographs", description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=ROOT / "data" / "photographs", help="where the sheets go")
    parser.add_argument("--only", default="", help="only the pages whose name holds this word")
    parser.add_argument("--readme", action="store_true", help="also renew static/img/readme/")
    told = parser.parse_args()
    data = tempfile.mkdtemp(prefix="reckoner-photographs-")
    os.environ.update(DATA_DIR=data, DJANGO_SETTINGS_MODULE="tests.photographs.settings", RECKONER_PHOTOGRAPHS=data)
    os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    sys.path.insert(0, str(ROOT))
    try:
        from tests.photographs.camera import photograph

        photograph(told.out, only=told.only, readme=told.readme)
    finally:
        shutil.rmtree(data, ignore_errors=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
