#!/usr/bin/env python3
"""The door to Strake Reckoner: `demo`, `serve`, `test`, and every command of the site.

What stands here runs before anything is installed: standard library only, and written so that an old Python
can read it far enough to say that it is too old. It keeps the packages in `.venv` and goes on in there.
"""

from __future__ import print_function

import sys

if sys.version_info < (3, 11):
    sys.stderr.write(
        "Strake Reckoner needs Python 3.11 or newer, and this is Python %d.%d. Start it with a newer one, "
        "such as: python3.12 manage.py demo\n" % sys.version_info[:2]
    )
    sys.exit(1)

import errno
import hashlib
import importlib.util
import json
import os
import re
import shutil
import signal
import subprocess
import time
from contextlib import contextmanager

ROOT = os.path.dirname(os.path.abspath(__file__))
VENV = os.path.join(ROOT, ".venv")
PYTHON = os.path.join(VENV, *(["Scripts", "python.exe"] if os.name == "nt" else ["bin", "python"]))
STAMP = os.path.join(VENV, "reckoner-stamp.json")
LOCK = os.path.join(ROOT, ".venv.lock")
RUN_PACKAGES = "requirements.txt"
TEST_PACKAGES = os.path.join("tests", "requirements.txt")
FIRST_START_MB = 700
# The environment's word that this process is already where it belongs; it holds the folder, so that a copy of
# the project started from inside this one still finds its own.
INSIDE = "RECKONER_INSIDE"

FULL = "The disk is full: the packages need about %d MB in %s." % (FIRST_START_MB, ROOT)
CLOSED = "The folder %s cannot be written to; the packages live in .venv inside it." % ROOT
# What pip says, in its many ways, when no index answers.
NO_NETWORK = re.compile(
    "NewConnectionError|ConnectTimeout|ReadTimeout|ProxyError|Cannot connect to proxy|Connection refused|"
    "Network is unreachable|name resolution|getaddrinfo failed|from versions: none"
)


class Trouble(Exception):
    """Something a person can mend: one sentence, no traceback."""


def main(arguments):
    command = arguments[0] if arguments else "help"
    if is_at_home(command):
        return run_here(command, arguments)
    try:
        prepare([RUN_PACKAGES, TEST_PACKAGES] if command == "test" else [RUN_PACKAGES])
    except Trouble as trouble:
        sys.stderr.write("%s\n" % trouble)
        return 1
    except OSError as problem:
        sys.stderr.write(sentence_for(problem))
        return 1
    return run_inside(arguments)


def is_at_home(command):
    """Return whether to go on in this interpreter: told so, sent here by ourselves, or already in `.venv`."""
    if os.environ.get("RECKONER_NO_VENV") == "1" or os.environ.get(INSIDE) == ROOT:
        return True
    in_venv = os.path.realpath(sys.prefix) == os.path.realpath(VENV)
    return in_venv and command not in ("demo", "serve", "test")


def run_here(command, arguments):
    os.chdir(ROOT)
    if command == "test":
        return run_tests(arguments[1:])
    if command == "demo":
        # The sample never touches one's own log, nor a database that the environment names.
        own = os.environ.get("DATA_DIR") or os.path.join(ROOT, "data")
        os.environ["DATA_DIR"] = os.path.join(own, "demo")
        os.environ.pop("DATABASE_URL", None)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "buildlog.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.stderr.write(
            "The packages of Strake Reckoner are not installed in this Python. Start without "
            "RECKONER_NO_VENV, or install them: %s -m pip install -r %s\n" % (sys.executable, RUN_PACKAGES)
        )
        return 1
    execute_from_command_line([sys.argv[0]] + arguments)
    return 0


def run_tests(arguments):
    try:
        import pytest
    except ImportError:
        sys.stderr.write(
            "The packages of the tests are not installed in this Python. Start without RECKONER_NO_VENV, or "
            "install them: %s -m pip install -r %s -r %s\n" % (sys.executable, RUN_PACKAGES, TEST_PACKAGES)
        )
        return 1
    return int(pytest.main(arguments))


def run_inside(arguments):
    """Run the same command in `.venv`, hand signals on to it, and return its exit code."""
    # TERM reaches only this process, and may come before there is a child to hand it on to.
    started, told = [], []
    signal.signal(signal.SIGTERM, lambda number, frame: started[0].terminate() if started else told.append(number))
    child = subprocess.Popen(
        [PYTHON, os.path.join(ROOT, "manage.py")] + arguments, env=dict(os.environ, **{INSIDE: ROOT})
    )
    started.append(child)
    if told:
        child.terminate()
    # Ctrl-C reaches the child by itself, since both share the terminal.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    code = child.wait()
    # A child ended by a signal counts as the shell counts it: 128 and the signal's number.
    return 128 - code if code < 0 else code


# --- The packages ----


def prepare(files):
    """Make sure that `.venv` is there and holds what these files ask for; quick when it does."""
    if is_fresh(files):
        return
    with one_at_a_time():
        # Another start may have done it while this one waited.
        if not is_fresh(files):
            install(files)


def wanted(files):
    digests = {}
    for name in files:
        with open(os.path.join(ROOT, name), "rb") as file:
            digests[name.replace(os.sep, "/")] = hashlib.sha256(file.read()).hexdigest()
    return digests


def read_stamp():
    try:
        with open(STAMP, encoding="utf-8") as file:
            stamp = json.load(file)
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def is_fresh(files):
    stamp = read_stamp()
    if stamp.get("python") != list(sys.version_info[:3]) or not os.path.exists(PYTHON):
        return False
    have = stamp.get("packages", {})
    return all(have.get(name) == digest for name, digest in wanted(files).items())


def install(files):
    have_venv_or_say()
    have_room_or_say()
    kept = dict(read_stamp().get("packages", {})) if venv_fits() else {}
    if os.path.exists(STAMP):
        os.remove(STAMP)
    if not venv_fits():
        print("Making .venv with Python %d.%d ..." % sys.version_info[:2], flush=True)
        make_venv()
    print("Installing packages into .venv (a few minutes the first time) ...", flush=True)
    pip_install(files)
    # What was asked for before and has not changed since is still there.
    unchanged = {name: digest for name, digest in kept.items() if wanted_or_none(name) == digest}
    write_stamp(dict(unchanged, **wanted(files)))


def wanted_or_none(name):
    try:
        return wanted([name])[name]
    except OSError:
        return None


def venv_fits():
    """Return whether `.venv` holds a Python that runs and is of this version."""
    if not os.path.exists(PYTHON):
        return False
    ask = [PYTHON, "-c", "import pip, sys; print(*sys.version_info[:2])"]
    answer = subprocess.run(ask, capture_output=True, text=True, check=False)
    return answer.returncode == 0 and answer.stdout.split() == [str(part) for part in sys.version_info[:2]]


def have_venv_or_say():
    if importlib.util.find_spec("venv") is None or importlib.util.find_spec("ensurepip") is None:
        raise Trouble(
            "This Python cannot make a virtual environment because its venv module is missing. "
            "On Debian, Ubuntu and Raspberry Pi OS: sudo apt install python3-venv"
        )


def have_room_or_say():
    free = shutil.disk_usage(ROOT).free // (1024 * 1024)
    if free < FIRST_START_MB:
        raise Trouble(
            "The disk of %s has %d MB free, and the packages need about %d MB. Make room and start again."
            % (ROOT, free, FIRST_START_MB)
        )


def make_venv():
    # The base interpreter, so that a `.venv` made from inside another environment does not hang on that one.
    base = getattr(sys, "_base_executable", None) or sys.executable
    made = subprocess.run([base, "-m", "venv", "--clear", VENV], capture_output=True, text=True, check=False)
    if made.returncode:
        raise Trouble(reason_in(made) or "The folder .venv could not be made: %s" % last(made))


def pip_install(files):
    command = [PYTHON, "-m", "pip", "install", "--quiet", "--no-input", "--disable-pip-version-check"]
    for name in files:
        command += ["--requirement", os.path.join(ROOT, name)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)
    if done.returncode:
        raise Trouble(reason_in(done) or "The packages could not be installed: %s" % last(done))


def reason_in(process):
    """Return the sentence for what a tool complained about, or None when it is nothing we know."""
    text = process.stdout + process.stderr
    if "No space left" in text or "not enough space" in text:
        return FULL
    if NO_NETWORK.search(text):
        return "The packages could not be fetched: no package index can be reached. Connect and start again."
    if "Permission denied" in text:
        return CLOSED
    return None


def last(process):
    lines = [line.strip() for line in (process.stdout + process.stderr).splitlines() if line.strip()]
    return lines[-1] if lines else "exit code %d" % process.returncode


def write_stamp(packages):
    """Write the stamp beside and move it into place: it is there whole, and only after all else is."""
    draft = STAMP + ".part"
    with open(draft, "w", encoding="utf-8") as file:
        json.dump({"python": list(sys.version_info[:3]), "packages": packages}, file)
        file.flush()
        os.fsync(file.fileno())
    os.replace(draft, STAMP)


def sentence_for(problem):
    if problem.errno in (errno.ENOSPC, getattr(errno, "EDQUOT", None)):
        return "%s\n" % FULL
    if problem.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return "%s\n" % CLOSED
    return "The start failed: %s.\n" % problem


# --- One start at a time ----


@contextmanager
def one_at_a_time():
    """Hold the lock file while packages are installed; the system lets go of it when a process dies."""
    with open(LOCK, "a+b") as file:
        told = False
        while not try_lock(file):
            if not told:
                print("Another start is installing the packages; waiting for it ...", flush=True)
                told = True
            time.sleep(0.2)
        yield


def try_lock(file):
    try:
        if os.name == "nt":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as problem:
        if problem.errno in (errno.EACCES, errno.EAGAIN, errno.EDEADLK):
            return False
        raise
    return True


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
