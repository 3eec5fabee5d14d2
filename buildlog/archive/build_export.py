"""Save one build to a file: every row of it, its photographs, and tables for those who have no tool."""

import os
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.db import connection, transaction

from buildlog.archive import build_json, build_schema, build_sheets, room
from buildlog.archive.build_tables import SCHEMA, TABLES, VERSION, columns_of, rows_of, table_name
from buildlog.archive.build_zip import BUILD, INDEX, README, Writer
from buildlog.archive.build_zip import SCHEMA as SCHEMA_FILE
from buildlog.archive.trouble import ArchiveTrouble
from buildlog.models import Build, Photo
from buildlog.photos import store
from buildlog.photos.kinds import CONTENT_TYPES, SUFFIXES, kind_of_type

Say = Callable[[str], None]


@dataclass(frozen=True)
class Saved:
    """What was saved, and which photographs were not there to be saved."""

    path: Path
    rows: int
    photographs: int
    size: int
    missing: tuple[str, ...]


@dataclass(frozen=True)
class _Picture:
    """One photograph as it goes in: its file's key, and what its row says of that file."""

    photo: Photo
    key: str
    facts: dict


def save_build(build: Build, path: Path, *, originals: bool, now: datetime, say: Say) -> Saved:
    """Write a build to `path`, which appears only when it is whole. Without `originals` it is fit to give away."""
    if path.exists():
        raise ArchiveTrouble(f"{path} is there already. Choose another name; nothing is written over.")
    if not path.parent.is_dir() or not os.access(path.parent, os.W_OK):
        raise ArchiveTrouble(f"The folder {path.parent} is not there, or cannot be written to.")
    with tempfile.TemporaryDirectory(dir=path.parent, prefix=f".{path.name[:60]}-") as name:
        draft = Path(name) / path.name
        writer = Writer(draft, now.timetuple()[:6])
        try:
            told = _write(writer, build, originals, now, say)
        except BaseException:
            writer.abandon()
            raise
        size = draft.stat().st_size
        os.replace(draft, path)
        store.sync_folder(path.parent)
    return Saved(path, size=size, **told)


def _write(writer: Writer, build: Build, originals: bool, now: datetime, say: Say) -> dict:
    say("Reading the rows")
    with transaction.atomic():
        _read_one_moment()
        build.refresh_from_db()
        photos = list(Photo.objects.filter(build=build).select_related("session", "person").order_by("pk"))
        pictures = _pictures(photos, originals)
        files = _file_names(pictures)
        document = document_of(build, originals=originals, pictures=pictures, files=files)
        sheets = build_sheets.sheets(build)
    sizes = {name: store.path_of(each.key).stat().st_size for each in pictures if (name := files[_uuid(each)])}
    room.require(writer.path.parent, sum(sizes.values()) + len(sheets["widths.csv"]) * 10)
    writer.add_text(README, build_sheets.readme(build, originals=originals, now=now))
    writer.add_text(BUILD, build_json.written(document))
    writer.add_text(SCHEMA_FILE, build_schema.written())
    for name, text in sheets.items():
        writer.add_text(name, text)
    writer.add_text(INDEX, build_sheets.photograph_index(photos, files))
    _add_pictures(writer, pictures, files, say)
    writer.seal()
    missing = tuple(str(one.uuid) for one in photos if str(one.uuid) not in files and _is_wanted(one))
    return {
        "rows": sum(map(len, document["tables"].values())), "photographs": len(files), "missing": missing,
    }  # fmt: skip


def _read_one_moment() -> None:
    """See one moment in all tables. SQLite does so in any transaction; PostgreSQL must be asked at its start."""
    if connection.vendor == "postgresql" and len(connection.savepoint_ids) == 0:
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")


def _is_wanted(photo: Photo) -> bool:
    return photo.state != Photo.State.REFUSED


def _pictures(photos: list[Photo], originals: bool) -> list[_Picture]:
    found = [_original(each) if originals else _published(each) for each in photos if _is_wanted(each)]
    return [each for each in found if each and store.path_of(each.key).is_file()]


def _original(photo: Photo) -> _Picture:
    return _Picture(photo, store.key_of(photo.sha256), {})


def _published(photo: Photo) -> _Picture | None:
    """Return the largest published copy; the row then tells of that file and not of the one kept back."""
    large = photo.renditions.filter(size="large").first()
    if large is None or photo.taken_out_at:
        return None
    media_type = _media_type(store.path_of(large.key))
    facts = {"sha256": large.sha256, "file_bytes": large.file_bytes, "media_type": media_type, "file_name": ""}
    # That copy is cut and turned already, so the marks go along in its own places.
    facts |= {"camera": "", "edits": {}, "drawn": photo.shown_marks}
    return _Picture(photo, large.key, facts)


def _media_type(path: Path) -> str:
    from buildlog.photos.kinds import HEAD_LENGTH, kind_of

    try:
        with path.open("rb") as file:
            return CONTENT_TYPES[kind_of(file.read(HEAD_LENGTH)) or "JPEG"]
    except FileNotFoundError:
        return CONTENT_TYPES["JPEG"]


def _uuid(picture: _Picture) -> str:
    return str(picture.photo.uuid)


def _file_names(pictures: list[_Picture]) -> dict[str, str]:
    """Return the file of each photograph by its uuid; one picture sent twice is one file."""
    names: dict[str, str] = {}
    for each in pictures:
        kind = kind_of_type(each.facts.get("media_type", each.photo.media_type))
        names.setdefault(each.key, f"photographs/{len(names) + 1:04d}.{SUFFIXES[kind]}")
    return {_uuid(each): names[each.key] for each in pictures}


def _add_pictures(writer: Writer, pictures: list[_Picture], files: dict[str, str], say: Say) -> None:
    done: set[str] = set()
    for place, each in enumerate(pictures, 1):
        name = files[_uuid(each)]
        if name in done:
            continue
        done.add(name)
        if place % 20 == 0:
            say(f"Copying photographs: {place} of {len(pictures)}")
        with store.path_of(each.key).open("rb") as file:
            writer.add(name, file)


def document_of(build: Build, *, originals: bool = True, pictures=(), files=None) -> dict:
    """Return every row of a build as build.json has it. The same build comes out the same, byte for byte."""
    facts = {each.photo.pk: each.facts for each in pictures}
    if not originals:
        # One that goes without its picture says no more of the camera than the others do.
        told_nothing = {"camera": "", "file_name": ""}
        facts = {pk: facts.get(pk, told_nothing) for pk in build.photos.values_list("pk", flat=True)}
    uuids = {table_name(model): _uuids(model, build) for model in TABLES}
    tables = {table_name(model): list(_rows(model, build, uuids, facts)) for model in TABLES}
    return {
        "schema": SCHEMA, "version": VERSION, "with_originals": originals, "photographs": files or {},
        "tables": tables,
    }  # fmt: skip


def _uuids(model, build) -> dict[int, str]:
    if not hasattr(model, "uuid"):
        return {}
    return {pk: str(uuid) for pk, uuid in rows_of(model, build).values_list("pk", "uuid")}


def _rows(model, build, uuids, facts):
    columns = columns_of(model)
    named = {c.name: uuids[c.names] for c in columns if c.kind == "row"}
    for values in rows_of(model, build).values("pk", *(column.field.attname for column in columns)).iterator():
        row = {c.name: build_json.plain(values[c.field.attname]) for c in columns}
        for name, known in named.items():
            if row[name] is not None:
                row[name] = _known(known, row[name], model, name)
        yield row | facts.get(values["pk"], {}) if model is Photo else row


def _known(known: dict[int, str], pk: int, model, name: str) -> str:
    try:
        return known[pk]
    except KeyError:
        raise ArchiveTrouble(
            f"A row of {table_name(model)} names, as its {name}, a row of another build. Run manage.py doctor."
        ) from None
