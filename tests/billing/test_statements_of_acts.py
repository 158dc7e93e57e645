"""How often the acts of every day ask the database: exact numbers, so that nothing is asked twice unnoticed.

Counted are reads and writes; how a transaction begins and ends differs between the databases and the tests.
"""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from billing.models import PaymentKind
from billing.services import Money, issue_invoice, record_payment
from jobs.models import Job, Position, Stage
from jobs.services import log
from shop.clock import now
from tests.builders import a_fit, a_job, a_lot, a_staff, an_invoice, author, drawer_of, position_of, some_work

pytestmark = pytest.mark.django_db
# Where rows can be locked by themselves, cards are locked before lots and balances: a question for each.
CARDS = int(connection.features.has_select_for_update)
READS, WRITES = ("SELECT",), ("INSERT", "UPDATE", "DELETE")


def asked(work: Callable[[], Any]) -> tuple[int, int]:
    """Reads and writes of an act."""
    with CaptureQueriesContext(connection) as heard:
        work()
    said = [query["sql"] for query in heard]
    return sum(sql.startswith(READS) for sql in said), sum(sql.startswith(WRITES) for sql in said)


def place_of(job: Job, designator: str) -> Position:
    """With its job, as pages load it."""
    return Position.objects.select_related("job").get(pk=position_of(job, designator).pk)


def test_a_measurement() -> None:
    """Read: job, the place's entries, profile, practices. Written: the job's counter, the entry."""
    place, by = place_of(a_job(Stage.REPAIRING), "C2"), author()
    assert asked(lambda: log.record_measured(place, "0.09 µF", by)) == (4, 2)


def test_a_part_fitted_and_charged() -> None:
    """With the first part what was held for the place is let go, and the found state is locked."""
    job, lot, by = a_job(Stage.REPAIRING), a_lot(count=20), author()
    fitting = log.Fit(lot, drawer_of(lot), override_reason="measured only", override_by=a_staff("owner", "owner"))
    first, second = place_of(job, "C2"), place_of(job, "C3")
    assert asked(lambda: log.fit(first, fitting, by)) == (17 + 2 * CARDS, 10)
    assert asked(lambda: log.fit(second, fitting, by)) == (15 + CARDS, 6)


def test_an_invoice_however_many_lines() -> None:
    """Written: the counter of numbers (the first of a year makes it), the invoice, all its lines, what is due, the job."""
    first = a_job(Stage.REPAIRING)
    a_fit(first, "C2")
    an_invoice(first)
    small, large, person = a_job(Stage.REPAIRING), a_job(Stage.REPAIRING), a_staff()
    a_fit(small, "C2")
    for name in ("C2", "C3", "C2"):
        a_fit(large, name, a_lot(count=20), not_charged="goodwill", override_reason="seen", override_by=a_staff("owner", "owner"))
    for _ in range(4):
        some_work(large, 15, not_charged="goodwill")
    counts = [asked(lambda job=job: issue_invoice(job, person=person, at=now())) for job in (small, large)]  # type: ignore[misc]
    assert counts == [(12, 5)] * 2


def test_a_payment() -> None:
    """Read: job and invoice under their locks, what is booked, what is credited. Written: the line, and what is due now."""
    job = a_job(Stage.REPAIRING)
    a_fit(job, "C2")
    invoice, person = an_invoice(job), a_staff()
    money = Money(PaymentKind.PAID, 10, "card")
    assert asked(lambda: record_payment(invoice, money, person=person, at=now())) == (4, 2)
