"""The list inside a backup: what is in it, how large, with which digest, and how many rows each table has."""

import json
from dataclasses import asdict, dataclass, field

from buildlog.archive.trouble import Damaged

FORMAT = "strake-reckoner-backup"
VERSION = 1


@dataclass(frozen=True)
class Member:
    """One file of a backup."""

    size: int
    sha256: str


@dataclass(frozen=True)
class Manifest:
    """Everything a backup says of itself."""

    made_at: str
    engine: str
    migrations: list[tuple[str, str]]
    counts: dict[str, int]
    members: dict[str, Member]
    # Files that a row named and that were not there, or not as sent, when the backup was made.
    missing: list[str] = field(default_factory=list)

    @property
    def rows(self) -> int:
        return sum(self.counts.values())

    @property
    def photographs(self) -> int:
        return sum(name.startswith("photos/originals/") for name in self.members)

    @property
    def size(self) -> int:
        return sum(member.size for member in self.members.values())

    def to_json(self) -> str:
        told = {"format": FORMAT, "version": VERSION, **asdict(self)}
        return json.dumps(told, indent=1, sort_keys=True)


def from_json(text: bytes) -> Manifest:
    """Return the manifest, or raise Damaged where it is none that this version can read."""
    try:
        told = json.loads(text)
        if told.pop("format") != FORMAT:
            raise Damaged("This file is not a backup of Strake Reckoner.")
        if told.pop("version") != VERSION:
            raise Damaged("This backup is of a form that this version cannot read. Take a newer version.")
        members = {str(name): _member(each) for name, each in told.pop("members").items()}
        counts = {str(table): int(count) for table, count in told.pop("counts").items()}
        migrations = [(str(app), str(name)) for app, name in told.pop("migrations")]
        missing = [str(name) for name in told.pop("missing")]
        return Manifest(str(told["made_at"]), str(told["engine"]), migrations, counts, members, missing)
    except (ValueError, KeyError, TypeError, AttributeError):
        raise Damaged("The list inside the backup cannot be read: the file is damaged.") from None


def _member(told: dict) -> Member:
    size, sha256 = told["size"], told["sha256"]
    if not isinstance(size, int) or size < 0 or not isinstance(sha256, str) or len(sha256) != 64:
        raise ValueError
    return Member(size, sha256)
