"""Taking a whole shop to another database, row by row: from the file to a server as it grows, and back.

The one that is left is only read, and held so that nobody writes to it meanwhile. Every table is read back from the new one and
held to the old one's digest and sums within the same transaction, so either all of it is there or nothing.
"""

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from django.apps import apps as present_apps
from django.conf import settings
from django.db import DatabaseError, connections, models, transaction

from shop.archive.loading import load, refuse_unless_empty
from shop.archive.manifest import Table
from shop.archive.refusing import Unfit
from shop.archive.rows import lines
from shop.archive.tables import taken
from shop.archive.writing import Counted, state_of, table_name
from shop.database import server_of

Step = Callable[[int, int], None]
NOTE = "where-the-shop-is.json"


@dataclass(frozen=True, slots=True)
class Moved:
    tables: list[Table]

    @property
    def rows(self) -> int:
        return sum(one.rows for one in self.tables)


def move(source: str, target: str, step: Step = lambda done, total: None) -> Moved:
    """All rows from one connection to the other, whose tables are there and empty. Raises Unfit; then the target is as it was."""
    with held_still(source):
        migrations = state_of(source)
        refuse_unless_empty(target, migrations, present_apps)
        found = taken(present_apps)
        total = sum(model._base_manager.using(source).count() for model in found)
        counted = Counted(lambda done, _: step(done, 2 * total), total)
        tables = [_looked_at(model, source, counted) for model in found]
        second = Counted(lambda done, _: step(total + done, 2 * total), total)
        with transaction.atomic(using=target):
            load(target, present_apps, tables, lambda table: _lines(table, source), second)
        second.end()
        return Moved(tables)


def _looked_at(model: type[models.Model], alias: str, count: Counted) -> Table:
    sums: dict[str, int] = {}
    digest, rows, size = hashlib.sha256(), 0, 0
    for line in lines(model, alias, sums):
        count.one()
        digest.update(line)
        rows, size = rows + 1, size + len(line)
    label = model._meta.label_lower
    return Table(table_name(label), size, digest.hexdigest(), label, rows, sums)


def _lines(table: Table, alias: str) -> Iterable[bytes]:
    return lines(present_apps.get_model(table.model), alias, {})


@contextmanager
def held_still(alias: str) -> Iterator[None]:
    """A transaction that sees one moment and lets nobody write until it ends. Raises Unfit where somebody writes just now."""
    connection = connections[alias]
    if connection.in_atomic_block:
        yield
        return
    try:
        # On SQLite this takes the lock of the only writer (IMMEDIATE).
        with transaction.atomic(using=alias):
            if connection.vendor == "postgresql":
                _hold_tables(connection)
            yield
    except DatabaseError as error:
        said = " ".join(str(error).split())[:200]
        raise Unfit(f"The database can't be held still ({said}). Stop whatever works with it, then try again.") from error


def _hold_tables(connection: Any) -> None:
    tables = ", ".join(connection.ops.quote_name(model._meta.db_table) for model in taken(present_apps))
    with connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        cursor.execute("SET LOCAL lock_timeout = '10s'")
        cursor.execute(f"LOCK TABLE {tables} IN SHARE MODE")


def place_of(settings_of: dict[str, Any]) -> str:
    """Which database this is, in words; never with its password."""
    if settings_of["ENGINE"].endswith("sqlite3"):
        return f"SQLite at {Path(settings_of['NAME']).resolve()}"
    return f"PostgreSQL at {server_of(settings_of)}, database {settings_of['NAME']}"


def leave_note(place: str, at: datetime) -> Path:
    """Beside photos and key stands where the shop is now, so that nobody goes on in the database it left."""
    note: Path = settings.SHOP_FOLDER / NOTE
    note.write_text(json.dumps({"kept_in": place, "since": at.isoformat(timespec="seconds")}, indent=1) + "\n")
    return note


def moved_elsewhere(settings_of: dict[str, Any]) -> str:
    """A sentence where the shop of this folder was moved to another database than this one; empty otherwise."""
    note: Path = settings.SHOP_FOLDER / NOTE
    try:
        kept_in = str(json.loads(note.read_text())["kept_in"])
    except (OSError, ValueError, KeyError, TypeError):
        return ""
    # The server may get another name or a standby, the folder another place: it is still the same shop.
    if kept_in.partition(" ")[0] == place_of(settings_of).partition(" ")[0]:
        return ""
    address = "Set DATABASE_URL to it" if kept_in.startswith("PostgreSQL") else "Unset DATABASE_URL"
    return (
        f"The shop of this folder was moved to {kept_in}; this is {place_of(settings_of)}, which it left. {address}, then start "
        f"again. To work on in this older one on purpose, delete {note} first."
    )
