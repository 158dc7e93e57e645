"""The first page of the day: what is promised, waits, is ready, is owed, runs out, can still go back."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Part
from jobs.models import Job, Stage
from jobs.services.labour import start_clock
from shop.clock import now
from shop.models import Staff
from shop.views.day_lists import LONGEST, day_of
from tests.builders import a_customer, a_job, a_lot, a_part, a_profile, a_set, a_supplier, an_invoice, pay
from tests.conftest import MONDAY, StillClock, signed_in
from tests.inventory.builders import texts

pytestmark = pytest.mark.django_db
TODAY = MONDAY.date()


@pytest.fixture(autouse=True)
def shop(still_clock: StillClock) -> None:
    a_profile()


def promised(days: int | None, stage: str = Stage.TAKEN_IN, serial: str = "") -> Job:
    job = a_job(stage, radio=a_set(serial=serial or f"S{days}"))
    Job.objects.filter(pk=job.pk).update(promised_on=None if days is None else TODAY + timedelta(days=days))
    return job


def test_an_empty_workshop_is_told_so(counter_client: Client) -> None:
    assert "Nothing stands in the workshop" in texts(counter_client.get(reverse("today")))


def test_promises_stand_by_date_the_overdue_first(owner: Staff, owner_client: Client) -> None:
    late, soon, today, _, _ = (promised(days) for days in (-3, 5, 0, 8, None))
    assert day_of(owner, TODAY).promised == [late, today, soon]
    page = texts(owner_client.get(reverse("today")))
    assert "Overdue" in page
    assert late.number in page


def test_what_waits_and_what_is_ready(owner: Staff) -> None:
    waits, ready = a_job(Stage.AWAITING_CONSENT), a_job(Stage.READY, radio=a_set(serial="2"))
    day = day_of(owner, TODAY)
    assert day.waiting == [waits]
    assert day.ready == [ready]
    assert day.open_jobs == 2


def test_an_invoice_is_owed_until_it_is_paid(owner: Staff) -> None:
    invoice = an_invoice(a_job(Stage.READY))
    (owed,) = day_of(owner, TODAY).unpaid
    assert owed == (invoice, invoice.gross_minor)
    pay(invoice, 20)
    assert day_of(owner, TODAY).unpaid == [(invoice, invoice.gross_minor - 20)]
    pay(invoice)
    assert day_of(owner, TODAY).unpaid == []


def test_the_bench_sees_no_money(colleague_client: Client, counter_client: Client) -> None:
    invoice = an_invoice(a_job(Stage.READY))
    assert invoice.number in texts(counter_client.get(reverse("today")))
    assert invoice.number not in texts(colleague_client.get(reverse("today")))


def test_a_part_runs_out_when_fewer_are_free_than_wanted(owner: Staff) -> None:
    lot = a_lot(a_part(minimum=10), count=10)
    assert day_of(owner, TODAY).low == []
    Part.objects.filter(pk=lot.part_id).update(minimum=11)
    assert [(part.pk, part.free) for part in day_of(owner, TODAY).low] == [(lot.part_id, 10)]  # type: ignore[attr-defined]
    Part.objects.filter(pk=lot.part_id).update(in_use=False)
    assert day_of(owner, TODAY).low == []


def test_a_return_window_that_ends_this_week_is_named_while_parts_are_left(owner: Staff) -> None:
    ends = a_lot(supplier=a_supplier(return_days=7))
    a_lot(a_part("1 µF 63 V"), supplier=a_supplier("Ohm & Sons", return_days=30))
    assert [(lot.pk, lot.left) for lot in day_of(owner, TODAY).returns] == [(ends.pk, 10)]  # type: ignore[attr-defined]
    assert day_of(owner, TODAY + timedelta(days=8)).returns == []


def test_ones_own_clock_is_shown(colleague: Staff) -> None:
    job = a_job(Stage.REPAIRING)
    start_clock(job, "repair", person=colleague, at=now())
    page = texts(signed_in(colleague).get(reverse("today")))
    assert "Clock running" in page
    assert job.number in page


def test_a_stranger_signs_in_first(stranger_client: Client) -> None:
    assert stranger_client.get(reverse("today"))["Location"].startswith(reverse("login"))


def fill(count: int) -> None:
    """Rows in every list."""
    customer = a_customer("Tomislav Feld")
    for n in range(count):
        radio = a_set(customer, serial=f"F{n}")
        promised(n % 5, serial=f"P{n}-{count}")
        a_job(Stage.AWAITING_CONSENT, radio=radio)
        a_lot(a_part(f"{n + 10} pF 500 V", minimum=99, technology="mica"), supplier=a_supplier(f"Supplier {n}", return_days=3))


def queries(client: Client, counted: Any) -> int:
    with counted as seen:
        assert client.get(reverse("today")).status_code == 200
    return len(seen.captured_queries)


def test_the_page_asks_as_often_for_many_rows_as_for_one(owner_client: Client, django_assert_max_num_queries: Any) -> None:
    an_invoice(a_job(Stage.READY))
    fill(1)
    one = queries(owner_client, django_assert_max_num_queries(25))
    fill(LONGEST + 2)
    an_invoice(a_job(Stage.READY, radio=a_set(serial="R2")))
    assert queries(owner_client, django_assert_max_num_queries(25)) == one
