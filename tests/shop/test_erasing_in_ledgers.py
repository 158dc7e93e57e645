"""What the database itself lets through of an erasure: personal words become one fixed mark; nothing else of a ledger moves."""

from typing import Any

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, models, transaction

from billing.models import Invoice, InvoiceLine
from jobs.models import Consent, EntryKind, JobAct, LogEntry
from jobs.services import log
from shop.append_only import (
    ERASED,
    LEDGERS,
    PERSONAL,
    create_triggers,
    drop_triggers,
    erase_words,
    guard_wholly,
    keep_append_only,
)
from shop.clock import now
from tests.builders import a_job, a_staff, an_invoice

pytestmark = pytest.mark.django_db


@pytest.fixture
def invoice(still_clock: Any) -> Invoice:
    job = a_job("ready")
    log.record_note(job, "Iwona says it hums on Sundays", log.Author(a_staff(), now()))
    return an_invoice(job)


def refused(rows: Any, **values: object) -> None:
    with pytest.raises(DatabaseError, match="append-only: UPDATE refused"), transaction.atomic():
        rows.update(**values)


def test_every_column_named_is_text_of_a_ledger() -> None:
    known = {one._meta.db_table: one for one in apps.get_models()}
    assert set(PERSONAL) <= set(LEDGERS)
    for table, personal in PERSONAL.items():
        for column in personal.columns:
            field = known[table]._meta.get_field(column)
            assert isinstance(field, models.CharField | models.TextField)
            assert not field.choices
            assert not field.null
            assert field.max_length is None or field.max_length >= len(ERASED)


def test_personal_words_become_the_mark_and_sums_stay(invoice: Invoice) -> None:
    before: dict[str, object] = dict(Invoice.objects.values().get())
    assert erase_words(Invoice.objects.all()) == 1
    after: dict[str, object] = dict(Invoice.objects.values().get())
    changed = {name: after[name] for name in after if after[name] != before[name]}
    assert changed == dict.fromkeys(("buyer_name", "set_line", "fault"), ERASED)
    assert (after["buyer_address"], after["reason"]) == ("", "")
    assert erase_words(Invoice.objects.all()) == 0


FORGERIES: list[tuple[Any, dict[str, object]]] = [
    (Invoice, {"buyer_name": "Somebody Else"}),
    (Invoice, {"buyer_name": ""}),
    (Invoice, {"buyer_name": "Erased"}),
    (Invoice, {"buyer_address": ERASED}),
    (Invoice, {"buyer_name": ERASED, "gross_minor": 1}),
    (Invoice, {"buyer_name": ERASED, "due_on": "2030-01-01"}),
    (Invoice, {"buyer_name": ERASED, "seller": {"name": "another shop"}}),
    (Invoice, {"number": ERASED}),
    (Consent, {"who": ERASED, "ceiling_minor": 10**6}),
    (Consent, {"who": "Somebody Else"}),
    (JobAct, {"note": ERASED, "to_stage": "sold"}),
]


def test_any_other_value_or_column_is_refused(invoice: Invoice) -> None:
    for model, values in FORGERIES:
        refused(model.objects.all(), **values)


def test_what_was_erased_cannot_be_written_again(invoice: Invoice) -> None:
    erase_words(Invoice.objects.all())
    refused(Invoice.objects.all(), buyer_name="Iwona Brzask")


def test_of_the_log_only_notes_are_erased(invoice: Invoice) -> None:
    assert erase_words(LogEntry.objects.all()) == 1
    assert LogEntry.objects.get(kind=EntryKind.NOTE).text == ERASED
    refused(LogEntry.objects.exclude(kind=EntryKind.NOTE).exclude(text=""), text=ERASED)


def test_nothing_is_ever_deleted(invoice: Invoice) -> None:
    erase_words(Invoice.objects.all())
    with pytest.raises(DatabaseError, match="append-only: DELETE refused"), transaction.atomic():
        Invoice.objects.all()._raw_delete(Invoice.objects.db)


def test_a_ledger_without_personal_words_takes_none(invoice: Invoice) -> None:
    with pytest.raises(KeyError):
        erase_words(InvoiceLine.objects.all())


def test_triggers_of_an_older_program_are_replaced(invoice: Invoice) -> None:
    """Those refused every UPDATE; their names are the same."""
    drop_triggers(connection)
    with connection.cursor() as cursor:
        for statement in older_trigger("billing_invoice"):
            cursor.execute(statement)
    refused(Invoice.objects.all(), buyer_name=ERASED)
    keep_append_only(None, "default")
    assert erase_words(Invoice.objects.all()) == 1
    refused(Invoice.objects.all(), net_minor=0)


def older_trigger(table: str) -> tuple[str, ...]:
    on = f'"{table}_no_update" BEFORE UPDATE ON "{table}"'
    said = f"{table} is append-only: UPDATE refused"
    if connection.vendor != "postgresql":
        return (f"CREATE TRIGGER {on} BEGIN SELECT RAISE(ABORT, '{said}'); END",)
    body = "BEGIN RAISE EXCEPTION '% is append-only: % refused', TG_TABLE_NAME, TG_OP; END"
    return (
        f"CREATE OR REPLACE FUNCTION shop_append_only() RETURNS trigger LANGUAGE plpgsql AS $$ {body} $$",
        f"CREATE TRIGGER {on} FOR EACH ROW EXECUTE FUNCTION shop_append_only()",
    )


def test_while_tables_are_rebuilt_no_column_is_held_and_afterwards_words_can_be_erased(invoice: Invoice) -> None:
    """SQLite names the columns in the trigger, so it stands for all of the row meanwhile; PostgreSQL's function is told them."""
    guard_wholly(None, "default")
    refused(Invoice.objects.all(), net_minor=0)
    if connection.vendor == "sqlite":
        refused(Invoice.objects.all(), buyer_name=ERASED)
        with connection.cursor() as cursor:
            cursor.execute("SELECT sql FROM sqlite_master WHERE name = 'billing_invoice_no_update'")
            assert "buyer_name" not in cursor.fetchone()[0]
    create_triggers(connection)
    assert erase_words(Invoice.objects.all()) == 1
