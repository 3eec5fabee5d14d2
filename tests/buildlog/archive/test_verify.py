"""A backup that differs in one bit is refused, and a hostile one can write nothing outside its folder."""

import hashlib
import io
import json
import os
import random
import zipfile

import pytest

from buildlog.archive import bundle as bundles
from buildlog.archive.bundle import Reader, check_seal
from buildlog.archive.trouble import ArchiveTrouble, Damaged, NewerVersion
from buildlog.archive.verify import verify


def quiet(sentence):
    pass


def sealed(path, entries, comment=None, **options):
    """Write a ZIP of our form with a right seal, whatever is inside."""
    with zipfile.ZipFile(path, "w", **options) as out:
        for name, content in entries:
            out.writestr(name, content)
        out.comment = b"sha256:" + b"0" * 64
    content = path.read_bytes()[:-64]
    path.write_bytes(content + hashlib.sha256(content).hexdigest().encode())
    return path


def manifest_of(members, **changes):
    told = {
        "format": "strake-reckoner-backup", "version": 1, "made_at": "2026-03-14T19:30:00+00:00",
        "engine": "sqlite", "migrations": [], "counts": {}, "missing": [],
        "members": {n: {"size": len(c), "sha256": hashlib.sha256(c).hexdigest()} for n, c in members},
    }  # fmt: skip
    return json.dumps(told | changes)


def resealed(path, change):
    """Change members of a backup and seal it again, as somebody would who knows how."""
    with zipfile.ZipFile(path) as opened:
        entries = {name: opened.read(name) for name in opened.namelist()}
    change(entries)
    return sealed(path, entries.items())


def test_whole_backup_is_verified(sample_bundle):
    manifest = verify(sample_bundle, quiet)

    assert manifest.photographs == 3
    assert manifest.counts["buildlog_photo"] == 4


def test_verifying_leaves_nothing_behind(sample_bundle, tmp_path):
    before = sorted(path.name for path in tmp_path.iterdir())

    verify(sample_bundle, quiet)

    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_one_flipped_bit_anywhere_is_found_100_times_of_100(sample_bundle):
    whole, chance = sample_bundle.read_bytes(), random.Random(20260314)
    places = [0, 1, 10, 26, len(whole) - 1, len(whole) - 64, len(whole) - 71, len(whole) - 80]
    places += [chance.randrange(len(whole)) for _ in range(92)]
    found = 0
    for place in places:
        flipped = bytearray(whole)
        flipped[place] ^= 1 << chance.randrange(8)
        sample_bundle.write_bytes(flipped)
        try:
            verify(sample_bundle, quiet)
        except ArchiveTrouble:
            found += 1

    assert found == len(places) == 100


def test_cut_anywhere_is_found(sample_bundle):
    whole, chance = sample_bundle.read_bytes(), random.Random(4)
    lengths = [0, 1, 70, 71, len(whole) - 1, len(whole) - 71] + [
        chance.randrange(len(whole)) for _ in range(20)
    ]
    found = []
    for length in lengths:
        sample_bundle.write_bytes(whole[:length])
        with pytest.raises(Damaged) as trouble:
            verify(sample_bundle, quiet)
        found.append(str(trouble.value))

    assert all(sample_bundle.name in sentence for sentence in found)


def test_bytes_added_at_the_end_are_found(sample_bundle):
    sample_bundle.write_bytes(sample_bundle.read_bytes() + b"more")

    with pytest.raises(Damaged):
        verify(sample_bundle, quiet)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("photo", "is not as it was when it was put in"),
        ("row", "rows"),
        ("lost photo", "no file"),
        ("lost from list", "not those on its list"),
        ("not on list", "not those on its list"),
        ("database", "The database in the backup is damaged|cannot be read"),
        ("no list", "no list of its files"),
        ("odd list", "cannot be read"),
        ("other format", "not a backup of Strake Reckoner"),
        ("later form", "Take a newer version"),
    ],
)
def test_backup_changed_and_sealed_again_is_still_found_out(sample_bundle, change, says):
    with pytest.raises(ArchiveTrouble, match=says):
        verify(resealed(sample_bundle, CHANGES[change]), quiet)


def with_list(entries, edit):
    told = json.loads(entries["manifest.json"])
    edit(told)
    entries["manifest.json"] = json.dumps(told).encode()


def put(entries, name, content):
    """Put content in and let the list say so."""
    entries[name] = content
    said = {"size": len(content), "sha256": hashlib.sha256(content).hexdigest()}
    with_list(entries, lambda told: told["members"].__setitem__(name, said))


def original_in(entries):
    return next(name for name in entries if name.startswith("photos/originals/"))


def spoil_photo(entries):
    name = original_in(entries)
    entries[name] = entries[name][:-1] + bytes([entries[name][-1] ^ 1])


def lose_photo(entries):
    name = next(name for name in entries if name.startswith("photos/renditions/"))
    del entries[name]
    with_list(entries, lambda told: told["members"].pop(name))


def spoil_database(entries):
    content = bytearray(entries["database.sqlite3"])
    for page in range(4096, len(content), 4096):
        content[page : page + 64] = b"\xff" * 64
    put(entries, "database.sqlite3", bytes(content))


CHANGES = {
    "photo": spoil_photo,
    "row": lambda entries: with_list(entries, lambda told: told["counts"].update(buildlog_reading=12345)),
    "lost photo": lose_photo,
    "lost from list": lambda entries: with_list(entries, lambda told: told["members"].pop("README.txt")),
    "not on list": lambda entries: entries.update({"keys/other": b"x"}),
    "database": spoil_database,
    "no list": lambda entries: entries.pop("manifest.json"),
    "odd list": lambda entries: entries.update({"manifest.json": b"{not json"}),
    "other format": lambda entries: with_list(entries, lambda told: told.update(format="other")),
    "later form": lambda entries: with_list(entries, lambda told: told.update(version=2)),
}

CLIMBING = (
    "../outside",
    "photos/../../outside",
    "/outside",
    "..\\outside",
    "C:\\outside",
    "photos/originals/ab/cd/../../x",
    "photos/originals/ab/cd/short",
    "photos/originals/ab/cd/" + "a" * 64 + "/x",
    "keys/../../outside",
    "keys/link_key\0.txt",
    "rows/../../../outside.jsonl",
    "rows/A.jsonl",
    "database.sqlite3/",
    "link_key",
    "secret_key",
)


@pytest.mark.parametrize("name", CLIMBING)
def test_member_with_a_name_of_its_own_is_refused(tmp_path, name):
    folder = tmp_path / "inner"
    folder.mkdir()
    entries = [(name, b"evil")]
    path = sealed(folder / "log.zip", [*entries, ("manifest.json", manifest_of(entries))])

    with pytest.raises(ArchiveTrouble):
        verify(path, quiet, scratch_in=folder)

    assert [each.name for each in tmp_path.iterdir()] == ["inner"]
    assert [each.name for each in folder.iterdir()] == ["log.zip"]


def test_member_listed_twice_is_refused(tmp_path):
    entries = [("README.txt", b"one"), ("README.txt", b"two")]
    with pytest.warns(UserWarning, match="Duplicate"):
        path = sealed(tmp_path / "log.zip", [*entries, ("manifest.json", manifest_of(entries[1:]))])

    with pytest.raises(Damaged, match="twice"):
        verify(path, quiet)


def test_link_within_a_backup_is_laid_down_as_plain_bytes(tmp_path):
    link = zipfile.ZipInfo("keys/link_key")
    link.external_attr = 0o120777 << 16
    entries = [("keys/link_key", b"/etc/passwd")]
    path = sealed(tmp_path / "log.zip", [(link, b"/etc/passwd"), ("manifest.json", manifest_of(entries))])

    with Reader(path) as reader:
        reader.copy_all_out(tmp_path / "out", quiet)

    assert not os.path.islink(tmp_path / "out" / "keys" / "link_key")
    assert (tmp_path / "out" / "keys" / "link_key").read_bytes() == b"/etc/passwd"


def test_bomb_that_the_list_tells_truly_is_refused_where_it_does_not_fit(tmp_path, monkeypatch):
    from buildlog.archive import room

    bomb = b"\0" * 30_000_000
    entries = [("database.sqlite3", bomb)]
    path = sealed(
        tmp_path / "log.zip",
        [*entries, ("manifest.json", manifest_of(entries))],
        compression=zipfile.ZIP_DEFLATED,
    )
    free = room.shutil._ntuple_diskusage(100_000_000, 0, 60_000_000)
    monkeypatch.setattr(room.shutil, "disk_usage", lambda _: free)

    with pytest.raises(ArchiveTrouble, match="too little room"):
        verify(path, quiet)


def test_bomb_that_says_it_is_small_is_stopped_at_its_size(tmp_path):
    bomb = b"\0" * 30_000_000
    path = sealed(
        tmp_path / "log.zip",
        [("database.sqlite3", bomb), ("manifest.json", manifest_of([("database.sqlite3", b"small")]))],
        compression=zipfile.ZIP_DEFLATED,
    )
    content = path.read_bytes()
    small = (5).to_bytes(4, "little")
    content = content.replace(len(bomb).to_bytes(4, "little"), small)[:-64]
    path.write_bytes(content + hashlib.sha256(content).hexdigest().encode())

    with pytest.raises(Damaged):
        verify(path, quiet)

    assert sum(each.stat().st_size for each in tmp_path.rglob("*") if each.is_file()) < 200_000


@pytest.mark.parametrize("content", [b"", b"PK\x05\x06" + b"\0" * 18, b"not a zip at all" * 100])
def test_other_file_is_told_to_be_no_backup(tmp_path, content):
    path = tmp_path / "other.zip"
    path.write_bytes(content)

    with pytest.raises(Damaged, match=r"other\.zip is not a backup of Strake Reckoner"):
        verify(path, quiet)


def test_folder_or_nothing_is_told(tmp_path):
    with pytest.raises(Damaged, match="is not a file"):
        verify(tmp_path, quiet)


def test_backup_of_a_newer_version_is_refused(sample_bundle):
    def newer(entries):
        with_list(entries, lambda told: told["migrations"].append(["buildlog", "9999_weather"]))

    with pytest.raises(NewerVersion, match=r"made by a newer version .* knows 9999_weather"):
        verify(resealed(sample_bundle, newer), quiet)


def test_seal_alone_is_read_in_small_pieces(sample_bundle, monkeypatch):
    largest = []
    real = io.BufferedReader.read
    monkeypatch.setattr(bundles, "_STEP", 4096)

    class Counting(io.BufferedReader):
        def read(self, size=-1):
            largest.append(size)
            return real(self, size)

    monkeypatch.setattr(type(sample_bundle), "open", lambda self, mode: Counting(io.FileIO(self, "r")))

    check_seal(sample_bundle)

    assert max(largest) <= 4096
