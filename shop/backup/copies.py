"""A copy as its folder tells it: what it holds (`Manifest`), how its last proof went (`Proof`)."""

import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from shop.backup.places import is_name, moment_of
from shop.backup.troubles import Trouble

FORM = "copy of a radio workshop, 1"
MANIFEST, PROOF, PHOTO_LIST = "manifest.json", "proof.json", "photos.sha256"
DATABASE_FILES = {"sqlite": "database.sqlite3", "postgresql": "database.dump"}
PHOTOS, KEY = "photos", "secret.key"
# How a copy came to be made.
DAILY, ASKED, BEFORE_TABLES, BEFORE_RESTORE = "daily", "asked", "before_tables", "before_restore"
WHY = {
    DAILY: "daily",
    ASKED: "asked for",
    BEFORE_TABLES: "before the tables were changed",
    BEFORE_RESTORE: "before another copy was restored",
}
Sums = dict[str, dict[str, int]]


@dataclass(frozen=True, slots=True)
class Kept:
    """A file of the copy with its size and SHA-256."""

    name: str
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """`sums`: of each table the rows and the sum of each column of whole numbers. `bytes` counts everything, shared or not;
    `bytes_new` what this copy takes on the disk. `missing`: photos that rows name and the shop had no file of."""

    shop: str
    made_at: datetime
    why: str
    program: str
    database: str
    server: str
    files: tuple[Kept, ...]
    migrations: tuple[str, ...]
    sums: Sums
    photo_count: int
    bytes: int
    bytes_new: int
    kept: bool = False
    before: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    shares: bool = True
    seconds: float = 0.0
    currency: str = ""

    @property
    def has_key(self) -> bool:
        return any(one.name == KEY for one in self.files)

    @property
    def why_words(self) -> str:
        return WHY.get(self.why, self.why)


@dataclass(frozen=True, slots=True)
class Proof:
    """How restoring went: `problems` make a copy bad; `remarks` are true of the shop itself and not the copy's fault."""

    at: datetime
    problems: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    seconds: float = 0.0
    looked_at: tuple[str, ...] = ()

    @property
    def is_good(self) -> bool:
        return not self.problems


@dataclass(frozen=True, slots=True)
class Copy:
    folder: Path
    manifest: Manifest
    proof: Proof | None = field(default=None)

    @property
    def name(self) -> str:
        return self.folder.name

    @property
    def made_at(self) -> datetime:
        return self.manifest.made_at

    @property
    def is_good(self) -> bool:
        return self.proof is not None and self.proof.is_good

    @property
    def is_bad(self) -> bool:
        return self.proof is not None and not self.proof.is_good

    @property
    def database_file(self) -> Path:
        return self.folder / DATABASE_FILES[self.manifest.database]


def manifest_from(text: str) -> Manifest:
    """Raises Trouble for what is no manifest of ours."""
    try:
        told = json.loads(text)
        if told.pop("form") != FORM:
            raise ValueError
        told["files"] = tuple(Kept(**one) for one in told["files"])
        if not {one.name for one in told["files"]} <= {MANIFEST, PHOTO_LIST, KEY, *DATABASE_FILES.values()}:
            raise ValueError
        told |= {name: tuple(told[name]) for name in ("migrations", "before", "missing")}
        made = Manifest(**{**told, "made_at": datetime.fromisoformat(told["made_at"])})
        if DATABASE_FILES[made.database] not in {one.name for one in made.files} or made.made_at.tzinfo is None:
            raise ValueError
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise Trouble("This is no copy of a workshop: its manifest can't be read as one.") from error
    return made


def read_copy(folder: Path) -> Copy:
    """Raises Trouble where the folder is none, or its manifest is missing or spoilt."""
    path = folder / MANIFEST
    try:
        manifest = manifest_from(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise Trouble(f"{folder} is no copy of a workshop: it has no {MANIFEST} that can be read.") from error
    return Copy(folder, manifest, read_proof(folder))


def read_proof(folder: Path) -> Proof | None:
    try:
        told: Mapping[str, Any] = json.loads((folder / PROOF).read_text("utf-8"))
        lists = {name: tuple(told[name]) for name in ("problems", "remarks", "looked_at")}
        return Proof(datetime.fromisoformat(told["at"]), seconds=told["seconds"], **lists)
    except (OSError, ValueError, KeyError, TypeError):
        return None


def copies_in(place: Path) -> list[Copy]:
    """All that are whole, the newest first; a place that isn't there has none."""
    return list(newest_in(place))


def newest_in(place: Path) -> Iterator[Copy]:
    """One after another, so that who wants the newest good one reads no more than that."""
    try:
        names = sorted((name for name in os.listdir(place) if is_name(name)), reverse=True)
    except OSError:
        return
    for name in names:
        try:
            yield read_copy(place / name)
        except Trouble:
            continue


def spoilt_in(place: Path) -> list[str]:
    """Names of folders that are called as copies are and hold none: something took their manifest away."""
    readable = {one.name for one in newest_in(place)}
    try:
        return sorted(name for name in os.listdir(place) if is_name(name) and name not in readable)
    except OSError:
        return []


def write_manifest(folder: Path, manifest: Manifest) -> None:
    told = asdict(manifest) | {"form": FORM, "made_at": manifest.made_at.isoformat()}
    write_whole(folder / MANIFEST, json.dumps(told, indent=1, sort_keys=True, ensure_ascii=False) + "\n")


def write_proof(folder: Path, proof: Proof) -> None:
    told = asdict(proof) | {"at": proof.at.isoformat()}
    write_whole(folder / PROOF, json.dumps(told, indent=1, sort_keys=True, ensure_ascii=False) + "\n")


def write_whole(path: Path, text: str) -> None:
    """Whole or not at all, for its owner's eyes only, on the disk when this returns."""
    waiting = path.with_name(path.name + ".new")
    handle = os.open(waiting, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    waiting.replace(path)


__all__ = ["Copy", "Kept", "Manifest", "Proof", "copies_in", "moment_of", "read_copy"]
