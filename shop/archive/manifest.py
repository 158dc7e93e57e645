"""What an archive says of itself: its format, the state of its tables, and count, size, sums and SHA-256 of all that is in it."""

import json
from dataclasses import asdict, dataclass, field
from typing import Any

from shop.archive.refusing import Unfit

NAME, README = "manifest.json", "README.txt"
FORMAT, VERSION = "radio workshop, whole shop", 1
LARGEST_BYTES = 200_000_000
_BROKEN = "The archive's manifest.json can't be read, so nothing in it can be trusted. Take another copy of the archive."


@dataclass(frozen=True, slots=True)
class Held:
    """A file in the archive: its size as it is when unpacked."""

    name: str
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Table(Held):
    """`model` is its label, such as `jobs.logentry`; `sums` are of columns of money and of counts, each over all rows."""

    model: str
    rows: int
    sums: dict[str, int]


@dataclass(frozen=True, slots=True)
class Manifest:
    """`migrations`: by app, those its tables have had. `missing`: files that rows name and the shop didn't have any more."""

    program: str
    currency: str
    migrations: dict[str, list[str]]
    tables: list[Table]
    files: list[Held]
    missing: list[str]
    left_out: dict[str, str] = field(default_factory=dict)

    def written(self) -> bytes:
        said = {"format": FORMAT, "version": VERSION, **asdict(self)}
        return json.dumps(said, ensure_ascii=False, sort_keys=True, indent=1).encode() + b"\n"

    @property
    def row_count(self) -> int:
        return sum(one.rows for one in self.tables)


def read(content: bytes) -> Manifest:
    """Raises Unfit for what is no manifest, or one of a newer format."""
    try:
        said = json.loads(content)
    except (ValueError, RecursionError) as error:
        raise Unfit(_BROKEN) from error
    if not isinstance(said, dict) or said.get("format") != FORMAT:
        raise Unfit("This is no archive of a shop made by this program. Choose a file that “archive out” made.")
    if not isinstance(said.get("version"), int) or said["version"] > VERSION:
        raise Unfit("This archive was written by a newer program. Bring this program up to date, then read it in.")
    try:
        return _manifest(said)
    except (KeyError, TypeError, ValueError) as error:
        raise Unfit(_BROKEN) from error


def _manifest(said: dict[str, Any]) -> Manifest:
    tables = [
        Table(**_held(one), model=_as(str, one["model"]), rows=_as(int, one["rows"]), sums=_of(int, one["sums"]))
        for one in said["tables"]
    ]
    files = [Held(**_held(one)) for one in said["files"]]
    migrations = {_as(str, app): [_as(str, one) for one in names] for app, names in said["migrations"].items()}
    missing = [_as(str, one) for one in said["missing"]]
    return Manifest(
        _as(str, said["program"]), _as(str, said["currency"]), migrations, tables, files, missing, _of(str, said["left_out"])
    )


def _held(one: dict[str, Any]) -> dict[str, Any]:
    return {"name": _as(str, one["name"]), "bytes": _as(int, one["bytes"]), "sha256": _as(str, one["sha256"])}


def _as(kind: type, value: Any) -> Any:
    if not isinstance(value, kind) or isinstance(value, bool):
        raise ValueError
    return value


def _of(kind: type, values: dict[str, Any]) -> dict[str, Any]:
    return {_as(str, name): _as(kind, value) for name, value in values.items()}
