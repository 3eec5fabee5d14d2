"""The door: what manage.py does before anything is installed, tried on copies that hold nothing else."""

import ast
import errno
import importlib.util
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections import namedtuple
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
Usage = namedtuple("Usage", "total used free")
POSIX = os.name != "nt"


def load(root: Path):
    """Load manage.py as it would be in another folder."""
    root.mkdir(exist_ok=True)
    shutil.copy(ROOT / "manage.py", root / "manage.py")
    spec = importlib.util.spec_from_file_location("manage_under_test", root / "manage.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def manage(tmp_path):
    door = load(tmp_path / "log")
    (tmp_path / "log" / "tests").mkdir()
    (tmp_path / "log" / "requirements.txt").write_text("# nothing\n")
    (tmp_path / "log" / "tests" / "requirements.txt").write_text("# nothing for tests\n")
    return door


# Too old a Python


def test_file_can_be_read_by_an_old_python():
    text = (ROOT / "manage.py").read_text("ascii")

    tree = ast.parse(text, feature_version=(3, 4))

    # Python 2 and 3.5 stop at these before they reach the sentence.
    assert not [
        node for node in ast.walk(tree) if isinstance(node, (ast.JoinedStr, ast.NamedExpr, ast.AnnAssign))
    ]
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    assert not [one.name for one in functions if one.returns or any(arg.annotation for arg in one.args.args)]


def test_only_the_standard_library_is_needed_before_the_packages_are_there():
    tree = ast.parse((ROOT / "manage.py").read_text("ascii"))
    names = {alias.name for node in tree.body if isinstance(node, ast.Import) for alias in node.names}
    names |= {node.module for node in tree.body if isinstance(node, ast.ImportFrom)}

    assert {name.split(".")[0] for name in names} <= set(sys.stdlib_module_names)


def test_old_python_is_told_what_is_needed():
    pretend = (
        "import runpy, sys; sys.version_info = (3, 10, 13, 'final', 0); "
        f"runpy.run_path({str(ROOT / 'manage.py')!r}, run_name='__main__')"
    )

    done = subprocess.run([sys.executable, "-c", pretend], capture_output=True, text=True, check=False)

    assert done.returncode == 1
    assert done.stderr == (
        "Strake Reckoner needs Python 3.11 or newer, and this is Python 3.10. "
        "Start it with a newer one, such as: python3.12 manage.py demo\n"
    )
    assert done.stdout == ""


def old_pythons() -> list[str]:
    kept = Path.home() / ".pyenv" / "versions"
    found = [str(path) for path in kept.glob("*/bin/python")] if kept.is_dir() else []
    found += [path for minor in range(4, 11) if (path := shutil.which(f"python3.{minor}"))]
    return [path for path in found if _is_old(path)]


def _is_old(python: str) -> bool:
    done = subprocess.run(
        [python, "-c", "import sys; print(sys.version_info < (3, 11))"], capture_output=True, check=False
    )
    return done.stdout.strip() == b"True"


def test_old_pythons_of_this_machine_say_so_themselves():
    pythons = old_pythons()
    if not pythons:
        pytest.skip("no Python older than 3.11 on this machine")
    for python in pythons:
        done = subprocess.run(
            [python, str(ROOT / "manage.py"), "demo"], capture_output=True, text=True, check=False
        )

        assert (done.returncode, done.stdout) == (1, ""), python
        assert done.stderr.startswith("Strake Reckoner needs Python 3.11 or newer"), python
        assert len(done.stderr.splitlines()) == 1, python


# What is in the way


def test_python_without_venv_is_told_which_package_to_install(manage, monkeypatch):
    monkeypatch.setattr(
        manage.importlib.util, "find_spec", lambda name: None if name == "ensurepip" else object()
    )

    with pytest.raises(manage.Trouble, match="sudo apt install python3-venv"):
        manage.prepare([manage.RUN_PACKAGES])
    assert not Path(manage.VENV).exists()


def test_disk_without_room_is_told_before_anything_is_made(manage, monkeypatch):
    monkeypatch.setattr(manage.shutil, "disk_usage", lambda path: Usage(10**12, 0, 100 * 1024 * 1024))

    with pytest.raises(manage.Trouble, match="has 100 MB free, and the packages need about 700 MB"):
        manage.prepare([manage.RUN_PACKAGES])
    assert not Path(manage.VENV).exists()


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ("ERROR: Could not install: [Errno 28] No space left on device", "The disk is full"),
        ("WARNING: Retrying ... NewConnectionError('<...>: Failed')", "no package index can be reached"),
        ("Temporary failure in name resolution", "no package index can be reached"),
        ("ProxyError('Cannot connect to proxy.')", "no package index can be reached"),
        ("[Errno 13] Permission denied: '.venv'", "cannot be written to"),
        ("ERROR: No matching distribution found for Django==99", None),
    ],
)
def test_what_a_tool_complains_of_becomes_a_sentence(manage, said, sentence):
    told = manage.reason_in(subprocess.CompletedProcess([], 1, "", said))

    assert told is None if sentence is None else sentence in told


@pytest.mark.parametrize(
    ("number", "sentence"),
    [
        (errno.ENOSPC, "The disk is full"),
        (errno.EACCES, "cannot be written to"),
        (errno.EROFS, "cannot be written to"),
    ],
)
def test_trouble_of_the_system_is_told_without_a_traceback(manage, monkeypatch, capsys, number, sentence):
    def refuse(files):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(manage, "prepare", refuse)

    assert manage.main(["demo"]) == 1
    said = capsys.readouterr().err
    assert sentence in said
    assert len(said.splitlines()) == 1


# The stamp


def test_stamp_is_that_of_this_python_and_of_what_was_asked_for(manage):
    Path(manage.PYTHON).parent.mkdir(parents=True)
    Path(manage.PYTHON).touch()
    run_only, both = [manage.RUN_PACKAGES], [manage.RUN_PACKAGES, manage.TEST_PACKAGES]
    assert not manage.is_fresh(run_only)

    manage.write_stamp(manage.wanted(run_only))

    assert manage.is_fresh(run_only)
    assert not manage.is_fresh(both)
    manage.write_stamp(manage.wanted(both))
    assert manage.is_fresh(run_only)
    assert manage.is_fresh(both)


def test_stamp_is_old_when_requirements_python_or_venv_changed(manage):
    files = [manage.RUN_PACKAGES]

    def make():
        Path(manage.PYTHON).parent.mkdir(parents=True, exist_ok=True)
        Path(manage.PYTHON).touch()
        (Path(manage.ROOT) / "requirements.txt").write_text("# nothing\n")
        manage.write_stamp(manage.wanted(files))
        assert manage.is_fresh(files)

    make()
    (Path(manage.ROOT) / "requirements.txt").write_text("# something\n")
    assert not manage.is_fresh(files)
    make()
    Path(manage.PYTHON).unlink()
    assert not manage.is_fresh(files)
    make()
    stamp = json.loads(Path(manage.STAMP).read_text())
    Path(manage.STAMP).write_text(json.dumps(stamp | {"python": [3, 11, 999]}))
    assert not manage.is_fresh(files)
    for broken in ("", "[]", "{", "null", '{"python": 3}'):
        make()
        Path(manage.STAMP).write_text(broken)
        assert not manage.is_fresh(files)


def test_stamp_is_gone_while_packages_are_installed_and_back_only_after(manage, monkeypatch):
    files, seen = [manage.RUN_PACKAGES], []
    Path(manage.PYTHON).parent.mkdir(parents=True)
    manage.write_stamp({"requirements.txt": "of an older version"})
    monkeypatch.setattr(manage, "make_venv", lambda: Path(manage.PYTHON).touch())
    monkeypatch.setattr(manage, "pip_install", lambda files: seen.append(Path(manage.STAMP).exists()))

    manage.prepare(files)

    assert seen == [False]
    assert manage.is_fresh(files)


def test_interrupted_installation_leaves_no_stamp(manage, monkeypatch):
    def cut_short(files):
        raise KeyboardInterrupt

    Path(manage.PYTHON).parent.mkdir(parents=True)
    monkeypatch.setattr(manage, "make_venv", lambda: Path(manage.PYTHON).touch())
    monkeypatch.setattr(manage, "pip_install", cut_short)

    with pytest.raises(KeyboardInterrupt):
        manage.prepare([manage.RUN_PACKAGES])

    assert not manage.is_fresh([manage.RUN_PACKAGES])


def test_run_time_packages_alone_are_asked_for_but_for_test(manage, monkeypatch):
    asked = {}
    monkeypatch.setattr(manage, "run_inside", lambda arguments: 0)
    for command in ("demo", "serve", "doctor", "test"):
        monkeypatch.setattr(manage, "prepare", lambda files, command=command: asked.update({command: files}))
        manage.main([command])

    run_only = ["requirements.txt"]
    assert asked == {
        "demo": run_only,
        "serve": run_only,
        "doctor": run_only,
        "test": ["requirements.txt", os.path.join("tests", "requirements.txt")],
    }


# Where it goes on


def test_own_venv_is_used_also_from_inside_another_and_left_alone_when_told(manage, monkeypatch):
    monkeypatch.delenv(manage.INSIDE, raising=False)
    monkeypatch.delenv("RECKONER_NO_VENV", raising=False)
    assert [manage.is_at_home(command) for command in ("demo", "test", "migrate")] == [False] * 3

    monkeypatch.setattr(manage.sys, "prefix", manage.VENV)
    # The packages of these three are looked after even in there; a command of a developer goes straight on.
    assert [manage.is_at_home(command) for command in ("demo", "test", "migrate")] == [False, False, True]

    monkeypatch.setenv(manage.INSIDE, "/another/copy")
    assert not manage.is_at_home("demo")
    monkeypatch.setenv(manage.INSIDE, manage.ROOT)
    assert manage.is_at_home("demo")
    monkeypatch.delenv(manage.INSIDE)
    monkeypatch.setenv("RECKONER_NO_VENV", "1")
    assert manage.is_at_home("demo")


def stand_in(manage, script: str) -> None:
    """Let the interpreter of `.venv` be a script."""
    Path(manage.PYTHON).parent.mkdir(parents=True, exist_ok=True)
    Path(manage.PYTHON).write_text(f"#!/bin/sh\n{script}\n")
    Path(manage.PYTHON).chmod(0o755)


@pytest.mark.skipif(not POSIX, reason="a shell script stands in for Python")
@pytest.mark.parametrize(
    ("script", "code"), [("exit 0", 0), ("exit 2", 2), ("exit 77", 77), ("kill -9 $$", 137)]
)
def test_exit_code_of_the_child_is_passed_on(manage, script, code):
    stand_in(manage, script)
    before = signal.getsignal(signal.SIGINT), signal.getsignal(signal.SIGTERM)
    try:
        assert manage.run_inside(["test", "-x"]) == code
    finally:
        signal.signal(signal.SIGINT, before[0])
        signal.signal(signal.SIGTERM, before[1])


@pytest.mark.skipif(not POSIX, reason="a shell script stands in for Python")
def test_term_reaches_the_child_and_its_answer_comes_back(manage):
    stand_in(manage, "trap 'exit 5' TERM; echo ready; while :; do sleep 0.05; done")
    call = (
        f"import sys; sys.path.insert(0, {manage.ROOT!r}); "
        "import manage; sys.exit(manage.run_inside(['serve']))"
    )

    parent = subprocess.Popen([sys.executable, "-c", call], stdout=subprocess.PIPE, text=True)
    assert parent.stdout.readline() == "ready\n"
    parent.terminate()

    parent.communicate(timeout=20)
    assert parent.returncode == 5


def test_demo_keeps_to_its_own_folder_and_database(manage, monkeypatch, tmp_path):
    seen = {}
    monkeypatch.setenv("DATA_DIR", str(tmp_path / "mine"))
    monkeypatch.setenv("DATABASE_URL", "postgres://me@localhost/mine")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(
        "django.core.management.execute_from_command_line",
        lambda argv: seen.update(
            argv=argv[1:], folder=os.environ["DATA_DIR"], url=os.environ.get("DATABASE_URL")
        ),
    )

    manage.run_here("demo", ["demo", "--port", "8001"])

    assert seen == {
        "argv": ["demo", "--port", "8001"],
        "folder": str(tmp_path / "mine" / "demo"),
        "url": None,
    }


# The whole of it, with a real `.venv`


@pytest.fixture(scope="module")
def fresh(tmp_path_factory) -> Path:
    """A folder with manage.py, nothing to install, and no network."""
    root = tmp_path_factory.mktemp("fresh") / "log with a space"
    (root / "tests").mkdir(parents=True)
    shutil.copy(ROOT / "manage.py", root)
    (root / "requirements.txt").write_text("# nothing\n")
    (root / "tests" / "requirements.txt").write_text("a-package-of-no-index==1.0\n")
    return root


def start(root: Path, *arguments: str) -> subprocess.Popen:
    environment = {
        name: value for name, value in os.environ.items() if not name.startswith(("PIP_", "RECKONER_"))
    }
    environment |= {
        # Nothing listens on port 9, so that every index is out of reach, wherever this runs.
        "PIP_INDEX_URL": "http://127.0.0.1:9/simple",
        "PIP_CONFIG_FILE": os.devnull,
        "PIP_RETRIES": "0",
    }
    command = [sys.executable, str(root / "manage.py"), *arguments]
    return subprocess.Popen(
        command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def test_fresh_folder_is_set_up_once_by_two_starts_and_then_quickly_passed_through(fresh):
    pair = [start(fresh, "doctor") for _ in range(2)]
    told = [each.communicate(timeout=300) for each in pair]

    # Both come as far as the child, which has no Django in this folder and says so.
    assert [each.returncode for each in pair] == [1, 1]
    assert all("The packages of Strake Reckoner are not installed" in stderr for _, stderr in told)
    assert sorted(stdout.count("Making .venv") for stdout, _ in told) == [0, 1]
    assert json.loads((fresh / ".venv" / "reckoner-stamp.json").read_text())["python"] == list(
        sys.version_info[:3]
    )

    began = time.perf_counter()
    again = start(fresh, "doctor").communicate(timeout=60)
    assert again[0] == ""
    assert time.perf_counter() - began < 3

    no_index = start(fresh, "test")
    assert no_index.communicate(timeout=120)[1].splitlines()[-1] == (
        "The packages could not be fetched: no package index can be reached. Connect and start again."
    )
    assert no_index.returncode == 1
    # What served before serves still: its own packages are looked at again, and nothing else.
    assert "Making .venv" not in start(fresh, "doctor").communicate(timeout=60)[0]
