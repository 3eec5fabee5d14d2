"""Saved builds for tests: made, spoiled, compared."""

import zipfile
from contextlib import contextmanager, suppress
from hashlib import sha256

from django.db import transaction

from buildlog.archive import build_json
from buildlog.archive.build_export import document_of, save_build
from buildlog.archive.build_import import take_in_build
from buildlog.archive.build_tables import TABLES
from buildlog.archive.build_zip import BUILD, SUMS
from tests.factories import NOON


def quiet(_sentence):
    """Say nothing."""


def save(build, path, *, originals=True):
    return save_build(build, path, originals=originals, now=NOON, say=quiet)


def take(path, *, as_copy=False, **more):
    return take_in_build(path, as_copy=as_copy, say=quiet, **more)


def text_of(build) -> bytes:
    """Return all of a build as build.json has it; the files of photographs stand beside it in the archive."""
    return build_json.written(document_of(build))


class _GoneAgain(Exception):
    pass


@contextmanager
def undone():
    """Let everything that is written inside be gone afterwards; readings cannot be deleted otherwise."""
    with suppress(_GoneAgain), transaction.atomic():
        yield
        raise _GoneAgain


def saved_and_gone(make, path):
    """Save what ``make`` lays down, take it back out of the database, and return its text."""
    with undone():
        build = make()
        text = text_of(build)
        save(build, path)
    return text


def members_of(path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def sums_of(members) -> bytes:
    lines = [f"{sha256(text).hexdigest()}  {name}\n" for name, text in members.items() if name != SUMS]
    return "".join(lines).encode()


def zipped(path, members, *, sums=True, compress=zipfile.ZIP_DEFLATED):
    """Write members into a ZIP with a fresh list of digests."""
    members = dict(members)
    if sums:
        members[SUMS] = sums_of(members)
    with zipfile.ZipFile(path, "w", compress) as archive:
        for name, text in members.items():
            archive.writestr(name, text)
    return path


def with_document(path, change):
    """Change build.json of a saved build, as somebody with an editor and sha256sum would."""
    members = members_of(path)
    document = build_json.read(members[BUILD])
    change(document)
    members[BUILD] = build_json.written(document)
    return zipped(path, members)


def counts() -> dict[str, int]:
    return {model.__name__: model.objects.count() for model in TABLES}
