"""Money by month is the journal's money, and what it says can be worked out by hand."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from billing.models import Invoice, PaymentKind
from billing.queries.journal import journal_of
from billing.queries.months import Month, money_by_month, months_until
from billing.queries.periods import Period, read_period
from billing.services import credit, credit_part, give_back_deposit, take_deposit
from jobs.models import Job
from shop.clock import now
from shop.models import Profile
from tests.billing.histories import a_bill, book, boss, play, whole_lines
from tests.builders import a_job
from tests.conftest import StillClock

YEAR = Period(date(2026, 1, 1), date(2026, 12, 31))
pytestmark = pytest.mark.django_db


def month(number: int, year: int = 2026) -> Month:
    period = read_period(f"{year}-{number:02}")
    assert period is not None
    return money_by_month(period, "GBP").months[0]


def test_a_bill_its_money_and_a_credit_by_hand(still_clock: StillClock) -> None:
    """Two pieces at C2 and one at R1, 0.60 each that cost 0.20; an hour and a half of 40.00; 20 % tax on 61.80 is 12.36."""
    invoice = a_bill(deposit_minor=1_000)
    book(invoice, PaymentKind.PAID, 2_000)
    still_clock.forward(days=31)
    book(invoice, PaymentKind.PAID, 4_416)
    credit_part(invoice, whole_lines(invoice, 0), "goodwill", person=boss(), at=now())
    assert month(3) == Month(date(2026, 3, 1), 180, 6_000, 1_236, 3_000, 60)
    assert month(4) == Month(date(2026, 4, 1), -120, 0, -24, 4_416, 0)
    assert (month(3).net_minor, month(3).gross_minor) == (6_180, 7_416)
    assert month(5) == Month(date(2026, 5, 1))


def test_a_bill_taken_back_whole_takes_the_cost_of_its_parts_back(still_clock: StillClock) -> None:
    invoice = a_bill()
    still_clock.forward(days=31)
    credit(invoice, "the name was wrong", person=boss(), at=now())
    assert (month(3).parts_cost_minor, month(4).parts_cost_minor) == (60, -60)
    assert month(4).gross_minor == -7_416


def test_money_that_moved_or_was_let_go_did_not_come_in(still_clock: StillClock) -> None:
    invoice = a_bill()
    book(invoice, PaymentKind.WAIVED, 400)
    book(invoice, PaymentKind.WRITTEN_OFF, 1_000)
    job = a_job()
    take_deposit(job, 5_000, "cash", person=boss(), at=now())
    give_back_deposit(Job.objects.get(pk=job.pk), 2_000, "cash", person=boss(), at=now())
    assert month(3).received_minor == 3_000


def test_every_month_agrees_with_the_journal(still_clock: StillClock) -> None:
    """Whatever was booked: the sums of a year's months are those of the double entries of the same days."""
    invoices = [a_bill(deposit_minor=500), a_bill(), a_bill()]
    steps = [
        (act, at % 3, 37 * at + 11)
        for at, act in enumerate(("pay", "part", "overpay", "move", "waive", "refund", "whole", "slip", "lose", "pay", "sell"))
    ]
    play(invoices, steps, still_clock.now)
    for one in money_by_month(YEAR, "GBP").months:
        period = read_period(f"{one.first:%Y-%m}")
        assert period is not None
        sums = {row.account: row.debit_minor - row.credit_minor for row in journal_of(period, "GBP").sums()}
        assert one.parts_minor == -sums.get("sales: parts", 0)
        assert one.work_minor == -sums.get("sales: labour", 0) - sums.get("sales: tasks at a fixed price", 0)
        assert one.tax_minor == -sum(minor for name, minor in sums.items() if name.startswith("tax at"))
        assert one.received_minor == sum(minor for name, minor in sums.items() if name.startswith("money received"))


def test_papers_in_another_currency_are_counted_and_in_no_sum(still_clock: StillClock) -> None:
    a_bill()
    Profile.objects.update(currency="JPY")
    a_bill()
    found = money_by_month(YEAR, "JPY")
    assert found.elsewhere == 1
    assert found.total("net_minor") == 6_180


@pytest.mark.parametrize(
    ("last", "count", "first"),
    [
        (date(2026, 11, 27), 12, date(2025, 12, 1)),
        (date(2026, 1, 1), 12, date(2025, 2, 1)),
        (date(2026, 12, 31), 24, date(2025, 1, 1)),
        (date(2028, 2, 29), 1, date(2028, 2, 1)),
    ],
    ids=str,
)
def test_months_are_counted_back_from_the_running_one(last: date, count: int, first: date) -> None:
    period = months_until(last, count)
    assert (period.first, period.last) == (first, last)
    assert len(money_by_month(period, "GBP").months) == count


def test_many_bills_ask_no_more_questions_than_one(still_clock: StillClock) -> None:
    a_bill()
    with CaptureQueriesContext(
        connection,
    ) as one:
        money_by_month(YEAR, "GBP")
    for _ in range(4):
        book(a_bill(), PaymentKind.PAID, 100)
    credit(Invoice.objects.all()[0], "wrong", person=boss(), at=now())
    with CaptureQueriesContext(connection) as many:
        money_by_month(YEAR, "GBP")
    assert len(many) == len(one) == 9
