"""Take a build in from a file: everything is read and checked first, photographs are kept, rows come last.

One transaction lays the rows down. Whatever goes wrong before its end leaves no row; photographs that were kept for
it are taken away again, and what a killed process left is swept a day later, since no row names it.
"""

import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings
from django.db import IntegrityError, transaction

from buildlog import models
from buildlog.archive import build_json, build_read, room, upgrades
from buildlog.archive.build_tables import TABLES, columns_of, table_name
from buildlog.archive.build_zip import BUILD, Reader
from buildlog.archive.trouble import ArchiveTrouble, Damaged
from buildlog.models import Build, Photo
from buildlog.photos import store
from buildlog.photos.check import check
from buildlog.photos.refusals import PhotoRefused

Say = Callable[[str], None]
_AT_ONCE = 500
_SIGNS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
_NOT_HERE = "This photograph was not in the file that the build came from."


class AlreadyHere(ArchiveTrouble):
    """The same build is in this log already; it may be taken in as a copy."""


@dataclass
class Taken:
    """What was taken in. `refused` tells for each photograph that was not, why."""

    build: Build
    rows: int
    photographs: list[Photo] = field(default_factory=list)
    refused: list[tuple[str, str]] = field(default_factory=list)


def take_in_build(
    path: Path, *, as_copy: bool, say: Say, within: Callable[[Taken], None] = lambda taken: None
) -> Taken:
    """Lay down the build of a file. ``within`` is called in the same transaction, to say whose it is."""
    if not path.is_file():
        raise Damaged(f"{path} is not a file.")
    with Reader(path) as reader:
        say("Reading the file")
        document = _document(reader)
        if as_copy:
            document = build_read.renamed(document)
        tables = build_read.tables_of(document)
        if as_copy:
            _mark_as_copy(tables)
        else:
            _refuse_twice(tables)
        reader.check_the_rest({BUILD, *document["photographs"].values()})
        room.require(Path(settings.DATA_DIR), reader.size)
        return _keep_all(reader, document["photographs"], tables, say, within)


def _document(reader: Reader) -> dict:
    document = upgrades.brought_to_today(build_json.read(reader.text(BUILD)))
    photographs = document.get("photographs")
    if set(document) != {"schema", "version", "with_originals", "photographs", "tables"}:
        raise Damaged("build.json does not hold what a build holds.")
    if not isinstance(photographs, dict) or not all(isinstance(name, str) for name in photographs.values()):
        raise Damaged("build.json, photographs: these are no files.")
    if strange := sorted(set(photographs.values()) - reader.names):
        raise Damaged(f"build.json names {strange[0][:80]!r}, which is not in the file.")
    if not all(name.startswith("photographs/") for name in photographs.values()):
        raise Damaged("build.json, photographs: these are no files.")
    # What is wrong with a table is told by build_read; a copy is renamed before, and needs rows to have names.
    if not _has_rows(document["tables"]):
        raise Damaged("build.json does not hold the tables of a build.")
    return document


def _has_rows(tables) -> bool:
    if not isinstance(tables, dict) or set(tables) != {table_name(model) for model in TABLES}:
        return False
    return all(
        isinstance(rows, list)
        and all(isinstance(row, dict) and ("uuid" not in row or _is_text_or_none(row["uuid"])) for row in rows)
        and (not hasattr(model, "uuid") or all("uuid" in row for row in rows))
        for model, rows in ((model, tables[table_name(model)]) for model in TABLES)
    )


def _is_text_or_none(value) -> bool:
    return value is None or isinstance(value, str)


def _mark_as_copy(tables) -> None:
    """A copy is told apart in the list, is no sample, and its printed cards keep to the first build."""
    build = tables[Build][0].instance
    build.name, build.is_sample = f"{build.name[:70]} (copy)", False
    for given in tables[models.CardPrint]:
        given.instance.code = "".join(secrets.choice(_SIGNS) for _ in range(len(given.instance.code) or 10))


def _refuse_twice(tables) -> None:
    build = tables[Build][0].instance
    offer = "To have it twice, take it in as a copy (on the command line: --as-copy)."
    if Build.objects.filter(uuid=build.uuid).exists():
        raise AlreadyHere(f"This build, {build.name}, is in this log already. {offer}")
    for model, rows in tables.items():
        if model is models.Event or not hasattr(model, "uuid"):
            continue
        uuids = [given.instance.uuid for given in rows]
        for start in range(0, len(uuids), _AT_ONCE):
            if model.objects.filter(uuid__in=uuids[start : start + _AT_ONCE]).exists():
                raise AlreadyHere(f"Parts of this build are in this log already ({table_name(model)}). {offer}")


# --- photographs ---------------------------------------------------------------------------------------------


def _keep_all(reader, files, tables, say, within) -> Taken:
    kept: list[store.Kept] = []
    taken = Taken(tables[Build][0].instance, sum(map(len, tables.values())))
    try:
        _keep_photographs(reader, files, [given.instance for given in tables[Photo]], kept, taken, say)
        say("Laying down the rows")
        _lay_down(tables, taken, within)
    except BaseException:
        _take_away(kept)
        raise
    return taken


def _keep_photographs(reader, files, photos, kept, taken, say) -> None:
    with store.scratch_folder() as folder:
        for place, photo in enumerate(photos, 1):
            if photo.state == Photo.State.REFUSED:
                continue
            if place % 20 == 0:
                say(f"Photograph {place} of {len(photos)}")
            why = _keep(reader, files.get(str(photo.uuid)), photo, folder / f"{place}", kept)
            if why:
                taken.refused.append((photo.file_name or files.get(str(photo.uuid), ""), why))
                photo.state, photo.refusal, photo.shared = Photo.State.REFUSED, why[:300], False
            else:
                taken.photographs.append(photo)
                photo.state = Photo.State.RECEIVED


def _keep(reader, name, photo, path, kept) -> str:
    """Keep one photograph, looked at as any that comes in; return why not, or nothing."""
    if name is None:
        return _NOT_HERE
    reader.copy_out(name, path)
    try:
        with path.open("rb") as file:
            checked = check(file)
            if (checked.sha256, checked.content_type) != (photo.sha256, photo.media_type):
                raise Damaged(f"{name} is not the photograph that build.json tells of.")
            was_here = store.path_of(store.key_of(photo.sha256)).exists()
            done = store.store(file)
            if not was_here:
                kept.append(done)
    except PhotoRefused as refusal:
        return str(refusal.sentence)
    finally:
        path.unlink(missing_ok=True)
    photo.file_bytes = done.size
    return ""


def _take_away(kept) -> None:
    for each in kept:
        if not Photo.objects.filter(sha256=each.sha256).exists():
            store.path_of(each.key).unlink(missing_ok=True)


# --- rows ----------------------------------------------------------------------------------------------------


def _lay_down(tables, taken: Taken, within) -> None:
    try:
        with transaction.atomic():
            pks: dict[str, dict[str, int]] = {}
            for model, rows in tables.items():
                pks[table_name(model)] = _lay_down_table(model, rows, pks)
            _name_later_rows(tables, pks)
            within(taken)
    except IntegrityError as problem:
        rule = str(problem).strip().splitlines()[0]
        raise Damaged(f"The rows of the file do not keep the rules of our tables: {rule}.") from None


def _lay_down_table(model, rows, pks) -> dict[str, int]:
    columns = [column for column in columns_of(model) if column.kind == "row" and column.names in pks]
    for given in rows:
        for column in columns:
            named = given.names[column.name]
            setattr(given.instance, column.field.attname, pks[column.names][named] if named else None)
    made = model.objects.bulk_create([given.instance for given in rows], batch_size=_AT_ONCE)
    return {str(row.uuid): row.pk for row in made} if hasattr(model, "uuid") else {}


def _name_later_rows(tables, pks) -> None:
    """Fill in the references that go to a row of the same table or of one that is laid down later."""
    seen: set[str] = set()
    for model, rows in tables.items():
        later = [column for column in columns_of(model) if column.kind == "row" and column.names not in seen]
        seen.add(table_name(model))
        for column in later:
            for given in rows:
                if named := given.names[column.name]:
                    pk = pks[column.names][named]
                    model.objects.filter(pk=given.instance.pk).update(**{column.field.attname: pk})
