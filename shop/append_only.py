"""Triggers that keep the ledgers append-only: the database refuses UPDATE and DELETE. No other SQL is database-specific.

One UPDATE is let through: personal words (`PERSONAL`) may become the mark `ERASED`, where nothing else of the row changes. So
no sum, number or date can move, no name can be put in another's place, and what is empty stays so.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db import connections, transaction
from django.db.models import Case, QuerySet, Value, When

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
    "shop_auditentry",
    "shop_accessevent",
    "billing_invoice",
    "billing_invoiceline",
    "billing_payment",
    "billing_uncollectedsale",
    "billing_surpluspayment",
)

ERASED = "erased"


@dataclass(frozen=True, slots=True)
class Personal:
    """Columns of text that may name or describe a person. `kind`: only rows whose column `kind` holds this one."""

    columns: tuple[str, ...]
    kind: str = ""


PERSONAL: dict[str, Personal] = {
    "jobs_logentry": Personal(("text", "note"), kind="note"),
    "jobs_consent": Personal(("who", "number_called", "note")),
    "jobs_jobact": Personal(("note",)),
    "jobs_handover": Personal(("received_by", "money")),
    "jobs_collectionnotice": Personal(("to_whom", "note")),
    "jobs_noticeservice": Personal(("proof",)),
    "jobs_disputestep": Personal(("text",)),
    "jobs_warrantytransfer": Personal(("note",)),
    "jobs_badlotletter": Personal(("to_whom", "answer")),
    "shop_datarequest": Personal(("how", "note")),
    "billing_invoice": Personal(
        ("reason", "buyer_name", "buyer_address", "buyer_tax_id", "buyer_reference", "set_line", "fault")
    ),
    "billing_payment": Personal(("note",)),
    "billing_uncollectedsale": Personal(("to_whom",)),
    "billing_surpluspayment": Personal(("to_whom", "note")),
}


def with_words(rows: "QuerySet[Any]") -> "QuerySet[Any]":
    """Those rows of one ledger that hold personal words."""
    personal = PERSONAL[rows.model._meta.db_table]
    named = rows.filter(kind=personal.kind) if personal.kind else rows
    return named.exclude(**{f"{one}__in": ("", ERASED) for one in personal.columns}).order_by()


def erase_words(rows: "QuerySet[Any]") -> int:
    """Put the mark in the place of the personal words of these rows of one ledger; how many rows had any.

    Whether the time of keeping has ended is for the caller to know.
    """
    columns = PERSONAL[rows.model._meta.db_table].columns
    marks = {one: Case(When(**{one: ""}, then=Value("")), default=Value(ERASED)) for one in columns}
    return with_words(rows).update(**marks)


def _name(table: str, verb: str) -> str:
    return f"{table}_no_{verb.lower()}"


def _sqlite(table: str, verb: str, unless: str = "") -> tuple[str, str]:
    return (
        f'DROP TRIGGER IF EXISTS "{_name(table, verb)}"',
        f'CREATE TRIGGER "{_name(table, verb)}" BEFORE {verb} ON "{table}" {unless}'
        f"BEGIN SELECT RAISE(ABORT, '{table} is append-only: {verb} refused'); END",
    )


def _unless_erased(connection: Any, cursor: Any, table: str) -> str:
    """The WHEN clause on SQLite: refused is any UPDATE that does something else than erase personal words."""
    personal = PERSONAL.get(table)
    if personal is None:
        return ""
    columns = [column.name for column in connection.introspection.get_table_description(cursor, table)]
    kept = [f'NEW."{one}" IS OLD."{one}"' for one in columns if one not in personal.columns]
    erased = [f'(NEW."{one}" IS OLD."{one}" OR (NEW."{one}" = \'{ERASED}\' AND OLD."{one}" <> \'\'))' for one in personal.columns]
    of_kind = [f"OLD.\"kind\" = '{personal.kind}'"] if personal.kind else []
    return f"WHEN NOT ({' AND '.join([*kept, *erased, *of_kind])}) "


def _postgresql(table: str, verb: str) -> str:
    """What may be erased goes to the function as its arguments: a column named in a trigger couldn't change its type any more."""
    personal = PERSONAL.get(table) if verb == "UPDATE" else None
    told = ", ".join(f"'{one}'" for one in (personal.kind, *personal.columns)) if personal else ""
    return (
        f'CREATE OR REPLACE TRIGGER "{_name(table, verb)}" BEFORE {verb} ON "{table}" '
        f"FOR EACH ROW EXECUTE FUNCTION shop_append_only({told})"
    )


FUNCTION = f"""
CREATE OR REPLACE FUNCTION shop_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  was jsonb;
  becomes jsonb;
BEGIN
  IF TG_OP = 'UPDATE' AND TG_NARGS > 1 THEN
    was := to_jsonb(OLD);
    becomes := to_jsonb(NEW);
    IF TG_ARGV[0] = '' OR was ->> 'kind' = TG_ARGV[0] THEN
      FOR at IN 1 .. TG_NARGS - 1 LOOP
        IF becomes ->> TG_ARGV[at] = '{ERASED}' AND was ->> TG_ARGV[at] <> '' THEN
          was := jsonb_set(was, ARRAY[TG_ARGV[at]], to_jsonb('{ERASED}'::text));
        END IF;
      END LOOP;
      IF was = becomes THEN RETURN NEW; END IF;
    END IF;
  END IF;
  RAISE EXCEPTION '% is append-only: % refused', TG_TABLE_NAME, TG_OP USING ERRCODE = 'integrity_constraint_violation';
END $$
"""


def present(connection: Any, tables: Iterable[str]) -> list[str]:
    there = set(connection.introspection.table_names())
    return [table for table in tables if table in there]


def create_triggers(connection: Any, tables: Iterable[str] = LEDGERS) -> None:
    """Also in the place of triggers that an older program made."""
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(FUNCTION)
        for table in present(connection, tables):
            for verb in ("UPDATE", "DELETE"):
                if connection.vendor == "postgresql":
                    cursor.execute(_postgresql(table, verb))
                    continue
                unless = _unless_erased(connection, cursor, table) if verb == "UPDATE" else ""
                for statement in _sqlite(table, verb, unless):
                    cursor.execute(statement)


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


def guard_wholly(sender: Any, using: str, **_: Any) -> None:
    """Before every `migrate`: SQLite drops no column that a trigger names, so meanwhile the ledgers refuse every UPDATE."""
    connection = connections[using]
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        for table in present(connection, PERSONAL):
            for statement in _sqlite(table, "UPDATE"):
                cursor.execute(statement)


def keep_append_only(sender: Any, using: str, **_: Any) -> None:
    """After every `migrate`: SQLite drops a table's triggers when a migration rebuilds it, so they are put back."""
    create_triggers(connections[using])
