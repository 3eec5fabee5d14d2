"""The habits of the house that can be read off the files: who imports whom, and one noun, one spelling."""

import ast
import re
import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SOURCES = sorted([*(ROOT / "buildlog").rglob("*.py"), *(ROOT / "planking").rglob("*.py")])

# Whom each room may import, besides itself and what is installed. `lengths` is planking.lengths alone.
MAY_IMPORT = {
    "models": set(),
    "photos": set(),
    "pictures": {"lengths"},
    "templatetags": {"lengths", "pictures"},
    "forms": {"models", "lengths"},
    "queries": {"models", "photos"},
    "access": {"models", "queries"},
    "measuring": {"models", "queries", "planking", "lengths"},
    "drawn": {"measuring", "models", "photos", "pictures", "queries"},
    "paper": {"models", "queries", "pictures", "lengths"},
    "actions": {"models", "queries", "photos", "site", "jobs", "lengths"},
    "archive": {"models", "photos", "queries", "site", "lengths"},
    "jobs": {"actions", "archive", "models", "photos", "queries", "site"},
    "sample": {"actions", "models", "queries"},
    "views": {
        "access", "actions", "archive", "drawn", "forms", "measuring", "models", "paper", "photos",
        "pictures", "queries", "site",
    },
    "management": {"actions", "archive", "drawn", "jobs", "measuring", "models", "queries", "sample", "site"},
    "site": {"archive", "drawn", "jobs", "models", "photos", "wsgi"},
    "urls": {"site", "views"},
    "settings": {"site"},
    "wsgi": {"site"},
    "apps": {"site"},
    "migrations": {"models"},
}  # fmt: skip
# Rooms that are no nouns of a builder but ways of doing.
NO_ROOMS = {"utils", "helpers", "common", "services", "mixins", "partials", "misc", "lib", "core"}
# Rooms in which a noun of the pages may have a file.
NOUN_ROOMS = ["views", "forms", "queries", "actions", "measuring"]
SHARED_TEMPLATES = {"help", "parts"}


@dataclass(frozen=True)
class Import:
    """One imported name, where it stands, and whether it is paid for when the file is loaded."""

    path: Path
    line: int
    name: str
    at_load: bool

    def __str__(self) -> str:
        return f"{self.path.relative_to(ROOT)}:{self.line} imports {self.name}"


@cache
def read(path: Path) -> ast.Module:
    return ast.parse(path.read_text("utf-8"), str(path))


def imports_of(path: Path) -> Iterator[Import]:
    tree = read(path)
    package = list(path.relative_to(ROOT).parent.parts)
    inside = {id(node) for one in ast.walk(tree) if isinstance(one, FUNCTIONS) for node in ast.walk(one)}
    for node in ast.walk(tree):
        for name in _names(node, package):
            yield Import(path, node.lineno, name, id(node) not in inside)


FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)


def _names(node: ast.AST, package: list[str]) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if not isinstance(node, ast.ImportFrom):
        return []
    base = package[: len(package) - node.level + 1] if node.level else []
    module = ".".join([*base, *([node.module] if node.module else [])])
    return [f"{module}.{alias.name}" for alias in node.names]


EVERY_IMPORT = [each for path in SOURCES for each in imports_of(path)]


def room_of(path: Path) -> str:
    parts = path.relative_to(ROOT).parts
    return parts[1].removesuffix(".py") if parts[0] == "buildlog" else "planking"


def imported_room(name: str) -> str | None:
    parts = [*name.split("."), ""]
    if parts[0] == "planking":
        return "lengths" if parts[1] == "lengths" else "planking"
    return parts[1] if parts[0] == "buildlog" else None


def breaks_the_rule(each: Import) -> bool:
    here, there = room_of(each.path), imported_room(each.name)
    if here == "planking" or here == there or not there:
        return False
    return there not in MAY_IMPORT.get(here, set())


def test_imports_run_one_way():
    assert [str(each) for each in EVERY_IMPORT if breaks_the_rule(each)] == []


def test_planking_stands_without_django_and_without_the_records():
    allowed = {"numpy", "scipy", "planking", *sys.stdlib_module_names}
    strangers = [
        str(each)
        for each in EVERY_IMPORT
        if room_of(each.path) == "planking"
        and each.name.split(".")[0] not in allowed
        and (each.path.name, each.name.split(".")[0]) != ("seams.py", "PIL")
    ]

    assert strangers == []


def test_every_room_has_its_rule():
    rooms = {room_of(path) for path in SOURCES} - {"planking", "__init__"}

    assert rooms - set(MAY_IMPORT) == set()


def test_heavy_packages_are_imported_where_they_are_needed_and_not_before():
    """A page that draws nothing pays for no solver; scipy.stats alone takes seconds to load."""
    heavy = ("scipy", "reportlab", "pillow_heif", "fontTools", "psycopg", "storages")
    early = [str(each) for each in EVERY_IMPORT if each.at_load and each.name.split(".")[0] in heavy]
    stats = [str(each) for each in EVERY_IMPORT if each.name.startswith("scipy.stats")]

    assert early == []
    assert stats == []


@pytest.mark.parametrize(
    ("path", "text", "found"),
    [
        ("buildlog/models/x.py", "from buildlog.views import strakes", 1),
        ("buildlog/models/x.py", "def f():\n    from ..actions.planks import hang_strake", 1),
        ("buildlog/models/x.py", "from .rows import Row", 0),
        ("buildlog/views/x.py", "import planking.drift", 1),
        ("buildlog/views/x.py", "from planking.lengths import read_length", 1),
        ("buildlog/forms/x.py", "from planking import lengths", 0),
        ("buildlog/forms/x.py", "from planking.lengths import read_length", 0),
        ("buildlog/forms/x.py", "from planking import drift", 1),
        ("buildlog/measuring/x.py", "from planking import drift", 0),
        ("buildlog/queries/x.py", "from buildlog import forms", 1),
        ("buildlog/queries/x.py", "from .planks import a\nimport json", 0),
    ],
)
def test_rule_of_imports_finds_what_breaks_it(tmp_path, monkeypatch, path, text, found):
    monkeypatch.setattr(sys.modules[__name__], "ROOT", tmp_path)
    file = tmp_path / path
    file.parent.mkdir(parents=True)
    file.write_text(text)

    assert len([each for each in imports_of(file) if breaks_the_rule(each)]) == found


# One noun, one spelling.


def spellings(names: dict[str, list[str]]) -> list[dict[str, list[str]]]:
    """Return the nouns that are spelled in more than one way; `names` gives each spelling its rooms."""
    nouns: dict[str, dict[str, list[str]]] = defaultdict(dict)
    for name, rooms in names.items():
        nouns[re.sub(r"(?<=[a-z])s?(_|$)", "", name)][name] = rooms
    return [written for written in nouns.values() if len(written) > 1]


def nouns_of_rooms() -> dict[str, list[str]]:
    names: dict[str, list[str]] = defaultdict(list)
    for room in NOUN_ROOMS:
        for path in (ROOT / "buildlog" / room).glob("*.py"):
            if not path.name.startswith("_"):
                names[path.stem].append(room)
    for folder in (ROOT / "templates").iterdir():
        if folder.is_dir():
            names[folder.name].append("templates")
    return names


def test_noun_has_one_spelling_in_every_room():
    assert spellings(nouns_of_rooms()) == []


def test_two_spellings_of_one_noun_are_found():
    assert spellings({"strakes": ["views"], "strake": ["forms"], "planks": ["views"]}) == [
        {"strakes": ["views"], "strake": ["forms"]}
    ]
    assert spellings({"cut_cards": ["views"], "cutcards": ["forms"]}) == [
        {"cut_cards": ["views"], "cutcards": ["forms"]}
    ]


def test_view_shows_templates_of_its_own_noun():
    strays = [
        f"{path.relative_to(ROOT)}:{node.lineno} shows {node.value}"
        for path in (ROOT / "buildlog" / "views").glob("*.py")
        for node in ast.walk(read(path))
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and re.fullmatch(r"[\w/-]+\.(html|txt|xml)", node.value)
        and node.value.split("/")[0] not in {path.stem, *SHARED_TEMPLATES}
    ]

    assert strays == []


def test_folder_of_templates_belongs_to_a_noun_of_the_code():
    nouns = {path.stem for room in NOUN_ROOMS for path in (ROOT / "buildlog" / room).glob("*.py")}
    folders = {path.name for path in (ROOT / "templates").iterdir() if path.is_dir()}

    assert folders - nouns - SHARED_TEMPLATES == set()


@pytest.mark.parametrize("room", NOUN_ROOMS)
def test_tests_of_a_room_are_named_for_its_nouns(room):
    tested = {path.stem.removeprefix("test_") for path in (ROOT / "tests/buildlog" / room).glob("test_*.py")}
    files = {path.stem for path in (ROOT / "buildlog" / room).glob("*.py")}

    # A second file about one noun says what of it: test_widths.py and test_widths_asked.py.
    assert [name for name in tested if not any(f"{name}_".startswith(f"{noun}_") for noun in files)] == []


def test_no_room_is_named_for_a_way_of_doing():
    folders = [path for top in ("buildlog", "planking", "templates") for path in (ROOT / top).rglob("*")]

    assert [str(path) for path in folders if path.stem.strip("_") in NO_ROOMS] == []


# Sizes: where a file or a function is so long that nobody reads it at one sitting.


def test_no_file_is_longer_than_four_hundred_lines():
    """Docstrings are not counted: the arithmetic must carry its meaning, formula, source and example."""
    long = {
        str(path.relative_to(ROOT)): _lines_of_file(path)
        for path in SOURCES
        if "migrations" not in path.parts
    }

    assert {path: lines for path, lines in long.items() if lines > 400} == {}


def _lines_of_file(path: Path) -> int:
    told = (ast.get_docstring(node, clean=False) for node in ast.walk(read(path)) if isinstance(node, TOLD))
    return len(path.read_text("utf-8").splitlines()) - sum(
        len(docstring.splitlines()) for docstring in told if docstring
    )


TOLD = (ast.Module, ast.ClassDef, ast.FunctionDef)


def test_no_function_is_longer_than_sixty_lines():
    long = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.name} has {_lines(node)} lines"
        for path in SOURCES
        if "migrations" not in path.parts
        for node in ast.walk(read(path))
        if isinstance(node, ast.FunctionDef) and _lines(node) > 60
    ]

    assert long == []


def _lines(node: ast.FunctionDef) -> int:
    """Return how many lines a function has, its docstring not counted."""
    body = node.body[1:] if ast.get_docstring(node) and len(node.body) > 1 else node.body
    return (node.end_lineno or 0) - body[0].lineno + 1
