"""What a database holds, in figures: of each table the rows, and the sum of each column of whole numbers, so of all money.

Asked of the tables themselves, never of the models: a copy may be older than the program.
"""

from collections.abc import Callable, Iterable
from typing import Any

from shop.backup.copies import Sums

Ask = Callable[[str], list[tuple[Any, ...]]]
POSTGRESQL_TABLES = """
SELECT c.table_name, c.column_name, c.data_type FROM information_schema.columns c
JOIN information_schema.tables t USING (table_schema, table_name)
WHERE c.table_schema = 'public' AND t.table_type = 'BASE TABLE' ORDER BY c.table_name, c.ordinal_position
"""


def columns_of(ask: Ask, vendor: str) -> dict[str, list[str]]:
    """Of every table its columns of whole numbers."""
    found: dict[str, list[str]] = {}
    if vendor == "postgresql":
        for table, column, kind in ask(POSTGRESQL_TABLES):
            whole = found.setdefault(table, [])
            whole.extend([column] if kind in ("smallint", "integer", "bigint") else [])
        return found
    for (table,) in ask("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name"):
        found[table] = [row[1] for row in ask(f'PRAGMA table_info("{table}")') if "int" in row[2].lower()]
    return found


def sums_of(ask: Ask, vendor: str) -> Sums:
    return {table: _sums(ask, table, columns) for table, columns in columns_of(ask, vendor).items()}


def _sums(ask: Ask, table: str, columns: list[str]) -> dict[str, int]:
    asked = ", ".join(["COUNT(*)", *(f'SUM("{one}")' for one in columns)])
    rows, *sums = ask(f'SELECT {asked} FROM "{table}"')[0]
    return {"rows": int(rows)} | {column: int(one or 0) for column, one in zip(columns, sums, strict=True)}


def differences(told: Sums, found: Sums) -> list[str]:
    """In words; none where both are the same."""
    wanted, there = _flat(told), _flat(found)
    return [
        f"{one[0]}, {one[1]}: {wanted.get(one, 'nothing')} in the manifest, {there.get(one, 'nothing')} in the copy"
        for one in sorted({*wanted, *there})
        if wanted.get(one) != there.get(one)
    ]


def _flat(sums: Sums) -> dict[tuple[str, str], int]:
    return {(table, what): figure for table, figures in sums.items() for what, figure in figures.items()}


def tops(ask: Ask, tables: Iterable[str]) -> dict[str, int]:
    """The highest row of each ledger: what only grows can't have fewer in a copy that was made later."""
    return {table: int(ask(f'SELECT MAX(id) FROM "{table}"')[0][0] or 0) for table in tables}


def migrations_in(ask: Ask, known: Iterable[str]) -> tuple[str, ...]:
    if "django_migrations" not in known:
        return ()
    return tuple(sorted(f"{app}.{name}" for app, name in ask("SELECT app, name FROM django_migrations")))


def shop_in(ask: Ask, known: Iterable[str]) -> tuple[str, str]:
    """The shop's name and currency; empty where none is set up."""
    rows = ask("SELECT name, currency FROM shop_profile ORDER BY id") if "shop_profile" in known else []
    return (str(rows[0][0]), str(rows[0][1])) if rows else ("", "")
