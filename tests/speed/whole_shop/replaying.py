"""What an act said to the database, said again raw: the same statements with the same values, on copies of the same shop.

Both sides pay for BEGIN and COMMIT, for the wait until the disk has it (the same journal and `synchronous`), for triggers that
refuse and audit, for constraints and foreign keys. The raw side knows every value beforehand: it reads no row to judge by, draws
no number, makes no object. There are two raw sides, each with a copy of its own: `writes` sends only what changes rows,
`whole` sends the questions too and fetches their answers.
"""

import shutil
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter, process_time
from typing import Any

from django.conf import settings
from django.db import connection

from shop.audit import teach_sqlite

WRITES = ("INSERT", "UPDATE", "DELETE")
SAID = ("SELECT", *WRITES)
Statement = tuple[str, Any]


@dataclass(frozen=True, slots=True)
class Taken:
    """Seconds of the processor, and by the clock with the waits for the disk."""

    cpu: float
    clock: float


def mean_of(taken: Sequence[Taken]) -> Taken:
    return Taken(sum(one.cpu for one in taken) / len(taken), sum(one.clock for one in taken) / len(taken))


def taken_by(work: Callable[[], Any]) -> Taken:
    cpu, clock = process_time(), perf_counter()
    work()
    return Taken(process_time() - cpu, perf_counter() - clock)


@contextmanager
def heard() -> Iterator[list[Statement]]:
    """Questions and writes that the framework sends meanwhile; how a transaction begins and ends is left out."""
    said: list[Statement] = []

    def hear(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if sql.startswith(SAID):
            said.append((sql, params))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(hear):
        yield said


def writes_of(statements: Sequence[Statement]) -> list[Statement]:
    return [one for one in statements if one[0].startswith(WRITES)]


class Raw:
    """A copy of the shop behind Python's own library, opened as the program opens its database."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.connection = sqlite3.connect(path, isolation_level=None)
        self.connection.executescript(settings.DATABASES["default"]["OPTIONS"]["init_command"])
        teach_sqlite(self.connection)

    def replay(self, statements: Sequence[Statement]) -> Taken:
        asked = [(sql.replace("%s", "?").replace("%%", "%"), tuple(params or ())) for sql, params in statements]
        return taken_by(lambda: self._send(asked))

    def _send(self, asked: Sequence[tuple[str, tuple[Any, ...]]]) -> None:
        execute = self.connection.execute
        execute("BEGIN IMMEDIATE")
        for sql, params in asked:
            execute(sql, params).fetchall()
        execute("COMMIT")


@contextmanager
def copies(names: Sequence[str]) -> Iterator[list[Raw]]:
    """Copies of this process's shop as it is now, beside it; they go when all is measured, and the shop is as it was again."""
    path = Path(settings.DATABASES["default"]["NAME"])
    connection.close()
    untouched = shutil.copyfile(path, path.with_name("untouched.sqlite3"))
    raw = [Raw(Path(shutil.copyfile(path, path.with_name(f"replayed-{name}.sqlite3")))) for name in names]
    try:
        yield raw
    finally:
        for one in raw:
            one.connection.close()
            one.path.unlink()
        connection.close()
        untouched.replace(path)
