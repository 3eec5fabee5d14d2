"""Collect the static files when they have changed; a start where nothing changed does not touch them."""

import hashlib
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command

from .one_server import one_at_a_time

STAMP = "collected.sha256"


def collect_when_changed(say) -> bool:
    """Return whether anything had to be collected."""
    if _is_fresh():
        return False
    # Two logs that start at once from one copy of the project share the folder.
    with one_at_a_time(Path(settings.STATIC_ROOT) / "collected.lock"):
        if _is_fresh():
            return False
        say("Getting the pages ready ...")
        _collect()
    return True


def _is_fresh() -> bool:
    try:
        return _stamp().read_text("ascii") == fingerprint()
    except FileNotFoundError:
        return False


def _stamp() -> Path:
    return Path(settings.STATIC_ROOT) / STAMP


def _collect() -> None:
    wanted = fingerprint()
    _stamp().unlink(missing_ok=True)
    # Django keeps what was collected later than the source was written, so a version unpacked with its old
    # dates would keep the newer one's pages. Hashed files stay: another server may be handing them out.
    for name, _ in _sources():
        (Path(settings.STATIC_ROOT) / name).unlink(missing_ok=True)
    call_command("collectstatic", interactive=False, verbosity=0)
    _stamp().write_text(wanted, "ascii")


def fingerprint() -> str:
    """Return a digest of every static file's name, size and time, and of what lays them down."""
    digest = hashlib.sha256()
    for package in ("Django", "whitenoise", "django-htmx"):
        digest.update(f"{package} {version(package)}\n".encode())
    for name, path in _sources():
        facts = path.stat()
        digest.update(f"{name} {facts.st_size} {facts.st_mtime_ns}\n".encode())
    return digest.hexdigest()


def _sources() -> Iterator[tuple[str, Path]]:
    for finder in get_finders():
        for name, storage in finder.list([]):
            yield name, Path(storage.path(name))
