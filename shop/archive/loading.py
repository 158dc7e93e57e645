"""Filling an empty shop from rows that were kept elsewhere: in one transaction, each table read back before it counts."""

import hashlib
import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from itertools import islice
from typing import Any

from django.apps import apps as present_apps
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import DatabaseError, IntegrityError, connections, models
from django.db.migrations.executor import MigrationExecutor

from shop.archive.manifest import Table
from shop.archive.refusing import Unfit
from shop.archive.rows import Column, columns_of, lines, row_of
from shop.archive.tables import OWN_APPS, referred, taken
from shop.archive.writing import Counted, state_of
from shop.audit import triggers as audit

ROWS_AT_ONCE = 1000
AUDIT = "shop.auditentry"
Lines = Callable[[Table], Iterable[bytes]]


def apps_at(alias: str, migrations: dict[str, list[str]]) -> Any:
    """The models as they were when the tables had had just these migrations. Raises Unfit for those nobody here knows."""
    loader = MigrationExecutor(connections[alias]).loader
    nodes = _nodes(migrations)
    if unknown := [f"{app} {name}" for app, name in nodes if (app, name) not in loader.graph.nodes]:
        raise Unfit(
            f"This was written by a newer program: its tables have had {unknown[0]}, which this one doesn't know. "
            "Bring this program up to date, then try again."
        )
    return present_apps if _are_newest(loader, migrations) else loader.project_state(nodes).apps


def bring_to(alias: str, migrations: dict[str, list[str]]) -> None:
    """Make the tables of a database that has none, as they were after just these migrations."""
    if connections[alias].introspection.table_names():
        return
    executor = MigrationExecutor(connections[alias])
    if _are_newest(executor.loader, migrations):
        call_command("migrate", database=alias, verbosity=0, interactive=False)
    else:
        executor.migrate([(app, name) for app in OWN_APPS for name in migrations.get(app, [])[-1:]])


def _nodes(migrations: dict[str, list[str]]) -> list[tuple[str, str]]:
    return [(app, name) for app in OWN_APPS for name in migrations.get(app, [])]


def _are_newest(loader: Any, migrations: dict[str, list[str]]) -> bool:
    return {node for node in loader.graph.nodes if node[0] in OWN_APPS} == set(_nodes(migrations))


def refuse_unless_empty(alias: str, migrations: dict[str, list[str]], apps: Any) -> None:
    if state_of(alias) != {app: migrations.get(app, []) for app in OWN_APPS}:
        raise Unfit(
            "The tables of this database are of another state than those to be read in. Give a database without any tables: "
            "an empty folder by SHOP_FOLDER, or an empty database by DATABASE_URL."
        )
    for model in taken(apps):
        if model._base_manager.using(alias).exists():
            raise Unfit(
                f"This database isn't empty: there are {model._meta.verbose_name_plural} in it. Nothing was changed. "
                "Give an empty folder by SHOP_FOLDER, or an empty database by DATABASE_URL."
            )


def load(alias: str, apps: Any, tables: list[Table], lines_of: Lines, count: Counted) -> None:
    """All rows of `tables`, as models of `apps`, within a transaction that is under way. Raises Unfit; then roll it back."""
    connection = connections[alias]
    found, given = taken(apps), {one.model: one for one in tables}
    if {model._meta.label_lower for model in found} != given.keys():
        different = sorted(given.keys() ^ {model._meta.label_lower for model in found})
        raise Unfit(f"The archive hasn't got just the tables of its own state: {', '.join(different[:5])}. Nothing was changed.")
    removed: dict[str, int] = defaultdict(int)
    with _loosened(connection, found):
        for model in found:
            table = given[model._meta.label_lower]
            _fill(connection, model, _watched(lines_of(table), count, removed if table.model == AUDIT else None))
            read_back(alias, model, table)
        _set_counters(connection, found, removed)


@contextmanager
def _loosened(connection: Any, found: list[type[models.Model]]) -> Iterator[None]:
    """What is loaded was audited when it was done. Ledgers stay guarded, as rows are only added. Not undone by `finally`: the
    transaction is rolled back then, and the triggers come back with it.
    """
    audit.drop(connection)
    if connection.vendor == "postgresql":
        _check_at_once(connection, found)
    yield
    try:
        connection.check_constraints()
    except IntegrityError as error:
        raise Unfit(f"Rows refer to others that aren't there: {_one_line(error)} Nothing was changed.") from error
    audit.create(connection)


def _check_at_once(connection: Any, found: list[type[models.Model]]) -> None:
    """A reference to a table that is filled already is checked with its statement: millions put off would fill the memory."""
    filled: set[str] = set()
    early = []
    for model in found:
        if referred(model) <= filled:
            early.append(model._meta.db_table)
        filled.add(model._meta.label_lower)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT c.conname FROM pg_constraint c WHERE c.contype = 'f' AND c.condeferrable AND c.conrelid <> c.confrelid "
            "AND c.conrelid::regclass::text = ANY(%s)",
            [early],
        )
        names = ", ".join(connection.ops.quote_name(row[0]) for row in cursor.fetchall())
        if names:
            cursor.execute(f"SET CONSTRAINTS {names} IMMEDIATE")


def _watched(given: Iterable[bytes], count: Counted, removed: dict[str, int] | None) -> Iterator[bytes]:
    """Counts the lines; of the audit's, remembers the greatest key that a removed row had, by table."""
    for line in given:
        count.one()
        if removed is not None and b'"verb":"D"' in line:
            said = json.loads(line)
            if str(said.get("row", "")).isdecimal():
                removed[said["table"]] = max(removed[said["table"]], int(said["row"]))
        yield line


def _fill(connection: Any, model: type[models.Model], given: Iterator[bytes]) -> None:
    columns = columns_of(model)
    quote = connection.ops.quote_name
    names = ", ".join(quote(one.name) for one in columns)
    marks = ", ".join(["%s"] * len(columns))
    sql = f"INSERT INTO {quote(model._meta.db_table)} ({names}) VALUES ({marks})"
    prepared = [_preparer(one, connection) for one in columns]
    with connection.cursor() as cursor:
        while some := [row_of(model, columns, line) for line in islice(given, ROWS_AT_ONCE)]:
            ready = [[prepare(value) for prepare, value in zip(prepared, row, strict=True)] for row in some]
            try:
                cursor.executemany(sql, ready)
            except (DatabaseError, OverflowError) as error:
                raise Unfit(
                    f"The database refuses rows of {model._meta.label_lower}: {_one_line(error)} Nothing was changed."
                ) from error


def _one_line(error: Exception) -> str:
    return " ".join(str(error).split())[:200]


def _preparer(column: Column, connection: Any) -> Callable[[Any], Any]:
    """Plain text and whole numbers go as they are: with millions of rows, asking the field each time is what takes longest."""
    if column.kind.of in ((str,), (int,), (bool,)) and column.kind.words in ("text", "whole number", "true or false"):
        return lambda value: value
    return lambda value: column.field.get_db_prep_save(value, connection)


def read_back(alias: str, model: type[models.Model], table: Table) -> None:
    """What the database now holds is what was given, to the byte. Raises Unfit."""
    sums: dict[str, int] = {}
    digest, rows = hashlib.sha256(), 0
    for line in lines(model, alias, sums):
        digest.update(line)
        rows += 1
    if (rows, digest.hexdigest(), sums) != (table.rows, table.sha256, table.sums):
        raise Unfit(f"Table {table.model} doesn't come back as it was given ({rows} of {table.rows} rows). Nothing was changed.")


def _set_counters(connection: Any, found: list[type[models.Model]], removed: dict[str, int]) -> None:
    """New rows get keys above all there were, those of removed rows included: the audit names rows by their keys."""
    keyed = [model for model in found if isinstance(model._meta.pk, models.AutoField)]
    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), keyed):
            cursor.execute(sql)
        for model in keyed:
            table, highest = model._meta.db_table, removed.get(model._meta.db_table, 0)
            newest = model._base_manager.using(connection.alias).aggregate(newest=models.Max("pk"))["newest"] or 0
            if highest > newest:
                _set_counter(connection, cursor, table, highest)


def _set_counter(connection: Any, cursor: Any, table: str, highest: int) -> None:
    if connection.vendor == "postgresql":
        cursor.execute("SELECT setval(pg_get_serial_sequence(%s, 'id'), %s)", [f'"{table}"', highest])
        return
    cursor.execute("DELETE FROM sqlite_sequence WHERE name = %s", [table])
    cursor.execute("INSERT INTO sqlite_sequence (name, seq) VALUES (%s, %s)", [table, highest])
