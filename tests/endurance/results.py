"""RESULTS.md: one section for each long form, written by the run itself."""

import platform
import re
import sqlite3
from pathlib import Path

RESULTS = Path(__file__).parent / "RESULTS.md"
_TITLE = "# What the long forms came to\n"


def made_with() -> str:
    return f"Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}, {platform.system()}"


def table_of(rows: list[tuple[str, object]]) -> str:
    lines = "\n".join(f"| {what} | {count} |" for what, count in rows)
    return f"| what | count |\n|---|---|\n{lines}\n"


def lay_down_section(name: str, text: str) -> None:
    """Put a section in, in place of the one of that name."""
    page = RESULTS.read_text("utf-8") if RESULTS.exists() else ""
    sections = dict(re.findall(r"^## (.+)\n((?:(?!^## ).*\n?)*)", page, re.MULTILINE))
    sections[name] = f"\n{text.strip()}\n\n"
    told = "".join(f"## {title}\n{body}" for title, body in sorted(sections.items()))
    RESULTS.write_text(f"{_TITLE}\n{told.rstrip()}\n", "utf-8")
