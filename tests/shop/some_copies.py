"""Copies of a shop as their folders tell them, made by hand: pages and plans read them, nobody restores them."""

import hashlib
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

from shop.backup.copies import DATABASE_FILES, KEY, PHOTO_LIST, Copy, Kept, Manifest, Proof, write_manifest, write_proof
from shop.backup.places import name_at
from shop.backup.sqlite_file import ask_of
from shop.backup.sums import sums_of

GOOD: tuple[str, ...] = ()


def a_copy(
    place: Path, at: datetime, *, problems: tuple[str, ...] | None = GOOD, photos: dict[str, bytes] | None = None, **more: Any
) -> Copy:
    """With a small database, a key and photos. `problems` None: never proven."""
    folder = place / name_at(place, at)
    (folder / "photos").mkdir(parents=True)
    sums = _database(folder / DATABASE_FILES["sqlite"])
    (folder / KEY).write_text("not-a-key")
    lines = []
    for name, content in (photos or {"photos/jobs/2026/03/a.jpg": b"chassis from below"}).items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
        lines.append(f"{hashlib.sha256(content).hexdigest()}  {name}\n")
    (folder / PHOTO_LIST).write_text("".join(lines))
    told: dict[str, Any] = {
        "shop": "Lamplight Wireless Works",
        "made_at": at,
        "why": "daily",
        "program": "0.1.0",
        "database": "sqlite",
        "server": "3.40.1",
        "files": tuple(_kept(folder / name) for name in (DATABASE_FILES["sqlite"], PHOTO_LIST, KEY)),
        "migrations": (),
        "sums": sums,
        "photo_count": len(lines),
        "bytes": 9_400_000,
        "bytes_new": 5_600_000,
    }
    manifest = Manifest(**{**told, **more})
    write_manifest(folder, manifest)
    proof = None if problems is None else Proof(at, problems)
    if proof:
        write_proof(folder, proof)
    return Copy(folder, manifest, proof)


def _kept(path: Path) -> Kept:
    return Kept(path.name, path.stat().st_size, hashlib.sha256(path.read_bytes()).hexdigest())


def _database(path: Path) -> dict[str, dict[str, int]]:
    with closing(sqlite3.connect(path)) as made, made:
        made.execute("CREATE TABLE jobs_logentry (id integer, unit_price_minor bigint, text varchar)")
        made.executemany("INSERT INTO jobs_logentry VALUES (?, ?, ?)", [(1, 250, "C2"), (2, None, "R1")])
        return sums_of(ask_of(made), "sqlite")
