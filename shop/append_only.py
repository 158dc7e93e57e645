"""Triggers that keep the ledgers append-only: the database refuses UPDATE and DELETE. No other SQL is database-specific."""

from collections.abc import Iterable
from typing import Any

from django.db import connections

LEDGERS: tuple[str, ...] = (
    "inventory_movement",
    "inventory_valvetest",
    "inventory_writedown",
    "inventory_listpricechange",
    "jobs_logentry",
    "jobs_labourentry",
    "jobs_consent",
    "jobs_deposit",
    "jobs_jobact",
    "jobs_safetycheck",
    "jobs_safetyreading",
    "jobs_handover",
    "jobs_warrantyline",
    "jobs_reformreading",
    "jobs_collectionnotice",
    "jobs_foundstate",
    "jobs_warrantytransfer",
    "jobs_claimfinding",
    "jobs_claimdecision",
    "jobs_coveredplace",
    "jobs_badlotletter",
    "jobs_forecast",
    "jobs_noticeservice",
    "jobs_disputestep",
    "inventory_supplierclaimstep",
    "shop_datarequest",
    "billing_invoice",
    "billing_invoiceline",
    "billing_payment",
    "billing_uncollectedsale",
    "billing_surpluspayment",
)


def _name(table: str, verb: str) -> str:
    return f"{table}_no_{verb.lower()}"


def _sqlite(table: str, verb: str) -> str:
    return (
        f'CREATE TRIGGER IF NOT EXISTS "{_name(table, verb)}" BEFORE {verb} ON "{table}" '
        f"BEGIN SELECT RAISE(ABORT, '{table} is append-only: {verb} refused'); END"
    )


def _postgresql(table: str, verb: str) -> str:
    return (
        f'CREATE OR REPLACE TRIGGER "{_name(table, verb)}" BEFORE {verb} ON "{table}" '
        f"FOR EACH ROW EXECUTE FUNCTION shop_append_only()"
    )


FUNCTION = """
CREATE OR REPLACE FUNCTION shop_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION '% is append-only: % refused', TG_TABLE_NAME, TG_OP USING ERRCODE = 'integrity_constraint_violation'; END $$
"""


def present(connection: Any, tables: Iterable[str]) -> list[str]:
    there = set(connection.introspection.table_names())
    return [table for table in tables if table in there]


def create_triggers(connection: Any, tables: Iterable[str] = LEDGERS) -> None:
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(FUNCTION)
        for table in present(connection, tables):
            for verb in ("UPDATE", "DELETE"):
                cursor.execute(_postgresql(table, verb) if connection.vendor == "postgresql" else _sqlite(table, verb))


def drop_triggers(connection: Any, tables: Iterable[str] = LEDGERS) -> None:
    with connection.cursor() as cursor:
        for table in present(connection, tables):
            for verb in ("UPDATE", "DELETE"):
                on = f' ON "{table}"' if connection.vendor == "postgresql" else ""
                cursor.execute(f'DROP TRIGGER IF EXISTS "{_name(table, verb)}"{on}')


def trigger_names(connection: Any) -> set[str]:
    query = (
        "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
        if connection.vendor == "postgresql"
        else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    )
    with connection.cursor() as cursor:
        cursor.execute(query)
        return {row[0] for row in cursor.fetchall()}


def expected_names(connection: Any) -> set[str]:
    return {_name(table, verb) for table in present(connection, LEDGERS) for verb in ("UPDATE", "DELETE")}


def keep_append_only(sender: Any, using: str, **_: Any) -> None:
    """After every `migrate`: SQLite drops a table's triggers when a migration rebuilds it, so they are put back."""
    create_triggers(connections[using])
