"""Copying an SQLite database while others write to it, by the database's own online backup (https://www.sqlite.org/backup.html).

It is copied some pages at a time, with the lock let go between, so writers go on. What others write meanwhile makes it begin
anew; if that happens too often it is copied in one go, for which writers wait as they wait for each other.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from shop.database import LOCK_WAIT_SECONDS

PAGES_AT_ONCE = 1024
SECONDS_BETWEEN = 0.005
MOST_BEGINNINGS = 5
DONE_OR_OK = (0, 100, 101)


class _TooOften(Exception):
    pass


class _Watch:
    """Counts how often the copying began anew: then more is left to do than before."""

    def __init__(self) -> None:
        self.left, self.beginnings = -1, 0

    def __call__(self, status: int, remaining: int, total: int) -> None:
        if status not in DONE_OR_OK:
            return
        if 0 <= self.left < remaining:
            self.beginnings += 1
            if self.beginnings >= MOST_BEGINNINGS:
                raise _TooOften
        self.left = remaining


def copy_to(source: Path, target: Path) -> int:
    """How often it began anew. The copy is whole, on the disk, for its owner only, and in no need of files beside it."""
    os.close(os.open(target, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    watch = _Watch()
    with closing(sqlite3.connect(source, timeout=LOCK_WAIT_SECONDS, isolation_level=None)) as live:
        try:
            _copy(live, target, watch)
        except _TooOften:
            target.write_bytes(b"")
            _copy(live, target, None)
    sync(target)
    return watch.beginnings


def _copy(live: sqlite3.Connection, target: Path, watch: _Watch | None) -> None:
    with closing(sqlite3.connect(target, isolation_level=None)) as copy:
        copy.execute("PRAGMA synchronous = OFF")
        live.backup(copy, pages=PAGES_AT_ONCE if watch else -1, progress=watch, sleep=SECONDS_BETWEEN)
        copy.execute("PRAGMA journal_mode = DELETE")


def sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


@contextmanager
def opened(path: Path) -> Iterator["sqlite3.Connection"]:
    with closing(sqlite3.connect(path, timeout=LOCK_WAIT_SECONDS, isolation_level=None)) as connection:
        yield connection


def ask_of(connection: sqlite3.Connection) -> Any:
    def ask(sql: str) -> list[tuple[Any, ...]]:
        return connection.execute(sql).fetchall()

    return ask


def faults_in(connection: sqlite3.Connection) -> list[str]:
    """What the database says against itself: its pages and indexes, and rows that name rows that aren't there."""
    pages = [str(row[0]) for row in connection.execute("PRAGMA integrity_check(10)")]
    strays = connection.execute("PRAGMA foreign_key_check").fetchmany(10)
    said = [f"the database file: {one}" for one in pages if one != "ok"]
    return said + [f"{table}: row {row} names a row of {parent} that isn't there" for table, row, parent, _ in strays]
