"""Going up through every state that the tables ever had, filling each, and looking afterwards what became of the rows."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from django.apps import apps as present_apps
from django.db import DatabaseError, connection, models, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.migration import Migration
from django.db.models.signals import post_migrate, pre_migrate

from tests.upgrade.filler import Filler, Kept, Row, read_rows

OURS = ("shop", "inventory", "jobs", "billing")
# Columns that a migration fills with something else on purpose, and why.
MEANT_TO_CHANGE = {
    ("shop_profile", column): "shops keep the promise of warranty that they gave before it was told by kind"
    for column in ("labour_warranty_days", "used_part_warranty_days", "used_valve_warranty_days")
} | {
    (table, column): "a stored sum over balances is drawn anew where it comes in"
    for table in ("inventory_part", "inventory_lot")
    for column in ("on_hand", "held")
}


@dataclass
class Walk:
    """The state of the tables while migrations are applied one by one, as releases with one migration each would."""

    executor: MigrationExecutor = field(default_factory=lambda: MigrationExecutor(connection))
    # How many of our migrations one release brings: before and after each release the shop does what it does around `migrate`.
    at_once: int = 1

    def __post_init__(self) -> None:
        self.executor.recorder.ensure_schema()
        self.state = self.executor._create_project_state(with_applied_migrations=True)  # type: ignore[attr-defined]

    def plan(self) -> list[Migration]:
        leaves = self.executor.loader.graph.leaf_nodes()
        return [migration for migration, _ in self.executor.migration_plan(leaves)]

    def up(self) -> Iterator[Migration]:
        """After each release; what others bring comes with ours."""
        plan = self.plan()
        ours = [migration for migration in plan if migration.app_label in OURS]
        for migration in plan:
            number = ours.index(migration) if migration in ours else None
            if number is not None and number % self.at_once == 0:
                _tell_the_shop(pre_migrate, self.state.apps)
            self.state = self.executor.apply_migration(self.state, migration)
            if number is None:
                continue
            if (number + 1) % self.at_once == 0 or migration is ours[-1]:
                _tell_the_shop(post_migrate, self.state.apps)
                yield migration


def _tell_the_shop(signal: Any, apps: Any) -> None:
    """What the shop itself does around `migrate`: its triggers. Kinds of content and permissions aren't asked for."""
    config = present_apps.get_app_config("shop")
    facts = {"app_config": config, "apps": apps, "using": "default", "verbosity": 0, "interactive": False, "plan": []}
    everybody = {receiver for receiver, _ in _receivers(signal, object())}
    for receiver, _ in _receivers(signal, config):
        if receiver not in everybody:
            receiver(sender=config, signal=signal, **facts)


def _receivers(signal: Any, sender: object) -> list[tuple[Any, None]]:
    found = signal._live_receivers(sender)
    return [(one, None) for one in (found[0] if isinstance(found, tuple) else found)]


def fill_every_state(rows: int = 1, seed: int = 1, at_once: int = 1) -> tuple[list[tuple[str, Kept]], list[str]]:
    """Up to the newest state, each filled on the way: what was put in where, and which tables would take nothing."""
    walk, filler, kept, troubles = Walk(at_once=at_once), Filler(seed), [], []
    for migration in walk.up():
        put, trouble = filler.fill(walk.state.apps, rows)
        kept.append((str(migration), put))
        troubles += [f"{migration}: {one}" for one in trouble]
    return kept, troubles


def merged(every: list[Kept]) -> Kept:
    """The rows of several fillings in one; a row keeps the columns that it had when it was made."""
    whole: Kept = {}
    for kept in every:
        for table, rows in kept.items():
            whole.setdefault(table, {}).update(rows)
    return whole


def lost(kept: Kept) -> Iterator[str]:
    """Rows that are gone, and columns that stayed but hold something else."""
    tables = set(connection.introspection.table_names())
    for table, rows in kept.items():
        if table not in tables:
            continue
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)} WHERE 1 = 0")
            there = [column[0] for column in cursor.description]
            key = connection.introspection.get_primary_key_column(cursor, table)
        yield from _differences(table, rows, read_rows(table, str(key), there, list(rows)), there)


def _differences(table: str, rows: dict[Any, Row], now: dict[Any, Row], columns: list[str]) -> Iterator[str]:
    gone = [key for key in rows if key not in now]
    if gone:
        yield f"{table}: {len(gone)} of {len(rows)} rows are gone"
    for column in columns:
        if (table, column) not in MEANT_TO_CHANGE:
            other = [key for key in rows if key in now and column in rows[key] and rows[key][column] != now[key][column]]
            if other:
                yield f"{table}.{column}: {len(other)} of {len(rows)} rows hold something else, {rows[other[0]][column]!r} before"


def faults_of_tables(*, all_filled: bool = True) -> Iterator[str]:
    """What the newest program needs of its tables and doesn't find. `all_filled`: every ledger must hold a row to be tried on."""
    if Walk().plan():
        yield "migrations are left to be applied"
    yield from _triggers()
    yield from _constraints()
    yield from _ledgers_that_change(all_filled)
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA integrity_check")
            yield from (f"integrity: {row[0]}" for row in cursor.fetchall() if row[0] != "ok")
            cursor.execute("PRAGMA foreign_key_check")
            yield from (f"foreign key: {row}" for row in cursor.fetchall())
        else:
            cursor.execute("SELECT conrelid::regclass, conname FROM pg_constraint WHERE NOT convalidated")
            yield from (f"not validated: {row}" for row in cursor.fetchall())


def _triggers() -> Iterator[str]:
    from shop import append_only
    from shop.audit import triggers

    there = append_only.trigger_names(connection)
    for missing in sorted((append_only.expected_names(connection) | triggers.expected_names(connection)) - there):
        yield f"no trigger {missing}"


def _constraints() -> Iterator[str]:
    with connection.cursor() as cursor:
        for model in present_apps.get_models(include_auto_created=True):
            if model._meta.app_label not in OURS:
                continue
            table = model._meta.db_table
            there = connection.introspection.get_constraints(cursor, table)
            for one in (*model._meta.constraints, *model._meta.indexes):
                if one.name not in there:
                    yield f"{table}: no {one.name}"
            yield from _keys(model, [there[name] for name in there])


def _keys(model: type[models.Model], there: list[Any]) -> Iterator[str]:
    known = {one["columns"][0] for one in there if one["foreign_key"]}
    single = {one["columns"][0] for one in there if one["unique"] and len(one["columns"]) == 1}
    several = {tuple(one["columns"]) for one in there if one["unique"]}
    for one in model._meta.concrete_fields:
        if one.is_relation and one.column not in known:
            yield f"{model._meta.db_table}: {one.column} is no foreign key"
        if one.unique and not one.primary_key and one.column not in single:
            yield f"{model._meta.db_table}: {one.column} isn't unique"
    for names in model._meta.unique_together:
        if tuple(model._meta.get_field(name).column for name in names) not in several:
            yield f"{model._meta.db_table}: {names} aren't unique together"


def _ledgers_that_change(all_filled: bool) -> Iterator[str]:
    """Every ledger that holds a row is asked to change and to drop one, which it must refuse."""
    from shop.append_only import LEDGERS, present

    name = connection.ops.quote_name
    for table in present(connection, LEDGERS):
        with connection.cursor() as cursor:
            key = name(str(connection.introspection.get_primary_key_column(cursor, table)))
            cursor.execute(f"SELECT {key} FROM {name(table)} LIMIT 1")
            row = cursor.fetchone()
        if row is None:
            if all_filled:
                yield f"{table} is empty, so nothing shows that it refuses changes"
            continue
        for act in (f"UPDATE {name(table)} SET {key} = -{key} WHERE {key} = %s", f"DELETE FROM {name(table)} WHERE {key} = %s"):
            if _is_let_through(act, row[0]):
                yield f"{table}: {act.split()[0]} isn't refused"


def _is_let_through(statement: str, key: Any) -> bool:
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement, [key])
            transaction.set_rollback(True)
    except DatabaseError as refused:
        return "append-only" not in str(refused)
    return True
