"""Writes whose SQL is composed once: the database gets what the framework's own `save` would give it."""

from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from billing.models import InvoiceLine, OpenAccount
from inventory.models import Hold, Lot, Part
from jobs.models import Job, LogEntry, RadioModel, Stage
from shop.clock import now
from shop.prepared import add, change, insert, insert_all, put
from tests.builders import a_fit, a_job, a_lot, a_staff, an_invoice, drawer_of, position_of

pytestmark = pytest.mark.django_db


def row_of(model: type[Any], key: int) -> dict[str, Any]:
    return dict(model.objects.filter(pk=key).values()[0])


def an_entry(job: Job, seq: int, **more: Any) -> LogEntry:
    place = position_of(job, "R1")
    return LogEntry(job=job, position=place, seq=seq, kind="note", text="Ωμ “ß”", at=now(), person=a_staff(), **more)


def test_a_new_row_is_the_one_that_save_writes() -> None:
    job = a_job(Stage.REPAIRING)
    ours, saved = an_entry(job, 101, value_si=1.5e-9, deviation_bp=None), an_entry(job, 102, value_si=1.5e-9)
    saved.at = ours.at
    assert insert(ours) is ours
    saved.save()
    but = {"id": 0, "seq": 0}
    assert row_of(LogEntry, ours.pk) | but == row_of(LogEntry, saved.pk) | but
    assert ours._state.adding is False
    assert ours == LogEntry.objects.get(seq=101, job=job)


def test_a_value_of_another_type_goes_through_its_field() -> None:
    lot = a_lot(count=3)
    held = insert(Hold(lot=lot, drawer=drawer_of(lot), count="2", reference="J-2026-0001", person=a_staff(), at=now()))
    assert Hold.objects.get(pk=held.pk).count == 2
    with pytest.raises(ValueError, match="expected a number but got 'two'"):
        insert(Hold(lot=lot, drawer=drawer_of(lot), count="two", reference="", person=a_staff(), at=now()))


def test_what_the_database_refuses_is_raised_and_spoils_the_transaction() -> None:
    job = a_job(Stage.REPAIRING)
    insert(an_entry(job, 101))
    with pytest.raises(IntegrityError), transaction.atomic():
        insert(an_entry(job, 101))
    assert LogEntry.objects.filter(job=job, seq=101).count() == 1


def test_a_row_that_belongs_to_one_not_written_yet_is_refused() -> None:
    lot = a_lot(count=3)
    hold = Hold(lot=Lot(part=lot.part), drawer=drawer_of(lot), count=1, reference="", person=a_staff(), at=now())
    with pytest.raises(ValueError, match="unsaved related object 'lot'"):
        insert(hold)


def test_tables_that_do_more_when_they_are_saved_are_refused() -> None:
    with pytest.raises(TypeError, match=r"RadioModel does more than write its row when it is saved; save it\."):
        insert(RadioModel())


@pytest.mark.parametrize("count", [0, 1, 3, 120])
def test_many_rows_are_those_that_bulk_create_writes(count: int) -> None:
    job = a_job(Stage.REPAIRING)
    a_fit(job, "C2")
    invoice = an_invoice(job)

    def lines(first: int) -> list[InvoiceLine]:
        return [
            InvoiceLine(
                invoice=invoice,
                order=first + at,
                kind="part",
                text=f"line {at}",
                count=1,
                unit_minor=at,
                net_minor=at,
                amount_minor=at,
                tax_bp=2000,
            )
            for at in range(count)
        ]

    insert_all(lines(1000))
    InvoiceLine.objects.bulk_create(lines(2000))
    of = [
        list(InvoiceLine.objects.filter(order__range=(first, first + 999)).order_by("order").values_list("text", "amount_minor"))
        for first in (1000, 2000)
    ]
    assert of[0] == of[1]
    assert len(of[0]) == count


def test_many_rows_take_few_statements() -> None:
    job = a_job(Stage.REPAIRING)
    with CaptureQueriesContext(connection) as asked:
        insert_all([an_entry(job, 200 + at) for at in range(20)])
    assert len([one for one in asked if one["sql"].startswith("INSERT")]) == 1


def test_put_writes_a_row_or_changes_the_one_that_is_there() -> None:
    job = a_job(Stage.REPAIRING)
    a_fit(job, "C2")
    invoice = an_invoice(job)
    before = OpenAccount.objects.get(invoice=invoice)
    put(OpenAccount(invoice=invoice, due_minor=7), over="invoice")
    assert OpenAccount.objects.get(invoice=invoice).due_minor == 7
    assert OpenAccount.objects.get(invoice=invoice).pk == before.pk
    before.delete()
    put(OpenAccount(invoice=invoice, due_minor=9), over="invoice")
    assert OpenAccount.objects.get(invoice=invoice).due_minor == 9


def test_change_sets_columns_of_one_row_only() -> None:
    one, other = a_job(), a_job()
    before = row_of(Job, other.pk)
    assert change(Job, one.pk, fault="hums") == 1
    assert row_of(Job, other.pk) == before
    assert Job.objects.get(pk=one.pk).fault == "hums"
    assert change(Job, -1, fault="hums") == 0


def test_add_adds_in_the_database_whatever_was_read_before() -> None:
    part = a_lot(count=3).part
    Part.objects.filter(pk=part.pk).update(on_hand=40)
    assert add(Part, part.pk, on_hand=-4, held=2) == 1
    assert Part.objects.values_list("on_hand", "held").get(pk=part.pk) == (36, 2)
    assert add(Part, -1, on_hand=1) == 0
