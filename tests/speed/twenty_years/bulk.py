"""Rows written in bulk, past the framework: in the order of their keys, with the triggers standing aside meanwhile."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import islice
from typing import Any

from django.db import connection, transaction
from django.db.models import Max, Model

AT_ONCE = 10_000
# Nobody else reads the file while it is made, and a load that was interrupted is made again.
QUICK = ("foreign_keys=OFF", "synchronous=OFF", "journal_mode=MEMORY", "cache_size=-400000", "temp_store=MEMORY")
Model_ = type[Model]


def columns(model: Model_) -> list[str]:
    return [str(field.column) for field in model._meta.concrete_fields]


class Store:
    """Gives out keys and writes rows; a row is a tuple in the order of `columns`."""

    def __init__(self) -> None:
        self._next: dict[Model_, int] = {}
        self._waiting: dict[Model_, list[tuple[Any, ...]]] = {}
        self.written: dict[Model_, int] = {}

    def keys(self, model: Model_, count: int) -> range:
        """That many new keys of a table, one after another."""
        if model not in self._next:
            last: int | None = model._default_manager.aggregate(last=Max("pk"))["last"]
            self._next[model] = (last or 0) + 1
        first = self._next[model]
        self._next[model] = first + count
        return range(first, first + count)

    def add(self, model: Model_, rows: Iterable[tuple[Any, ...]]) -> None:
        waiting = self._waiting.setdefault(model, [])
        waiting.extend(rows)
        if len(waiting) >= AT_ONCE:
            self.write(model, waiting)
            waiting.clear()

    def write(self, model: Model_, rows: Iterable[tuple[Any, ...]]) -> None:
        named = ", ".join(f'"{one}"' for one in columns(model))
        table = f'"{model._meta.db_table}"'
        with connection.cursor() as cursor:
            if connection.vendor == "postgresql":
                with cursor.copy(f"COPY {table} ({named}) FROM STDIN") as copy:
                    for row in rows:
                        copy.write_row(row)
                        self.written[model] = self.written.get(model, 0) + 1
                return
            marks = ", ".join("?" for _ in columns(model))
            # The framework's own cursor turns every row's marks round; the library's takes them as they are.
            raw = cursor.cursor.connection.cursor()  # type: ignore[attr-defined]
            sql, left = f"INSERT INTO {table} ({named}) VALUES ({marks})", iter(rows)
            while batch := list(islice(left, AT_ONCE)):
                raw.executemany(sql, batch)
                self.written[model] = self.written.get(model, 0) + len(batch)

    def flush(self) -> None:
        for model, waiting in self._waiting.items():
            if waiting:
                self.write(model, waiting)
                waiting.clear()


@contextmanager
def quick_loading() -> Iterator[None]:
    """Triggers stand aside; SQLite waits for no disk. Afterwards all is as it was, and key counters are moved on."""
    from shop.append_only import create_triggers, drop_triggers
    from shop.audit.triggers import standing_aside

    inside = connection.in_atomic_block
    with standing_aside(connection):
        drop_triggers(connection)
        if connection.vendor == "sqlite" and not inside:
            _be_quick()
        with transaction.atomic():
            yield
        _move_counters()
        create_triggers(connection)
    if not inside:
        # The next connection is opened as the shop opens it.
        connection.close()


def _be_quick() -> None:
    with connection.cursor() as cursor:
        for setting in QUICK:
            cursor.execute(f"PRAGMA {setting}")


def _move_counters() -> None:
    """SQLite's AUTOINCREMENT follows by itself; PostgreSQL's sequences don't know of keys that were given."""
    if connection.vendor != "postgresql":
        return
    from django.apps import apps
    from django.core.management.color import no_style

    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(apps.get_models())):
            cursor.execute(statement)


def look_at_tables() -> None:
    """Let the database count its rows, as its plans go by them."""
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
