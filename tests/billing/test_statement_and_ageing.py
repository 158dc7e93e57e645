"""A customer's account from day to day, and how late everybody's money is: both add up to what is open."""

import csv
import io
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from billing.models import Invoice, PaymentKind
from billing.queries import account_of, steps_of, with_account, with_history
from billing.queries.ageing import COLUMNS, ageing, column_of
from billing.queries.statement import accounts_of
from billing.services import credit, credit_part, move_credit
from shop.models import Customer
from shop.tabular import read_csv, read_xlsx
from tests.billing.histories import a_bill, book, boss, whole_lines
from tests.builders import a_customer
from tests.conftest import StillClock

FULL = 7_416
pytestmark = pytest.mark.django_db


@pytest.fixture
def history(still_clock: StillClock) -> tuple[Customer, Invoice, Invoice]:
    """2 March: two invoices, one with a deposit. 12 March: one overpaid by 10.00. 22 March: 5.00 of that moved.
    1 April: a credit in part, and the rest of the other written off."""
    who = a_customer()
    first, second = a_bill(who, deposit_minor=1_000), a_bill(who)
    still_clock.forward(days=10)
    book(first, PaymentKind.PAID, FULL, keep=True)
    still_clock.forward(days=10)
    move_credit(first, second, 500, person=boss(), at=still_clock.now)
    still_clock.forward(days=10)
    credit_part(first, whole_lines(first, 0), "goodwill", person=boss(), at=still_clock.now)
    book(second, PaymentKind.WRITTEN_OFF, FULL - 500, note="moved away")
    return who, first, second


def test_every_paper_and_every_line_of_money_is_on_it(history: tuple[Customer, Invoice, Invoice]) -> None:
    who, first, second = history
    (kept,) = accounts_of(who, None, date(2026, 4, 1))
    assert [(line.text, line.minor) for line in kept.lines] == [
        (f"Invoice {first.number}", FULL),
        (f"Deposit set off on {first.number}", -1_000),
        (f"Invoice {second.number}", FULL),
        (f"Paid, cash on {first.number}", -FULL),
        (f"Moved to {second.number} on {first.number}", 500),
        (f"Moved from {first.number} on {second.number}", -500),
        ("Credit note in part C-2026-0001", -144),
        (f"Written off on {second.number}", -(FULL - 500)),
    ]
    assert kept.closing_minor == sum(account_of(one).due_minor for one in Invoice.objects.filter(kind="invoice")) == -644


@pytest.mark.parametrize(
    ("first", "last", "opening", "lines", "closing"),
    [
        (date(2026, 3, 1), date(2026, 3, 11), 0, 3, 2 * FULL - 1_000),
        (date(2026, 3, 12), date(2026, 3, 31), 2 * FULL - 1_000, 3, FULL - 1_000),
        (date(2026, 4, 1), date(2026, 4, 1), FULL - 1_000, 2, -644),
        (date(2026, 4, 2), date(2026, 12, 31), -644, 0, -644),
        (date(2025, 1, 1), date(2025, 12, 31), 0, 0, 0),
    ],
)
def test_what_was_open_before_and_what_is_open_after(
    history: tuple[Customer, Invoice, Invoice], first, last, opening, lines, closing
):
    (kept,) = accounts_of(history[0], first, last)
    assert (kept.opening_minor, len(kept.lines), kept.closing_minor) == (opening, lines, closing)


def test_each_period_opens_where_the_one_before_closed(history: tuple[Customer, Invoice, Invoice]) -> None:
    days = [date(2026, 2, 27) + timedelta(days=n) for n in range(40)]
    closing = [accounts_of(history[0], day, day)[0].closing_minor for day in days]
    opening = [accounts_of(history[0], day, day)[0].opening_minor for day in days]
    assert opening[1:] == closing[:-1]


def test_a_whole_credit_frees_the_deposit_on_it(still_clock: StillClock) -> None:
    who = a_customer()
    invoice = a_bill(who, deposit_minor=1_000)
    book(invoice, PaymentKind.WAIVED, 400)
    credit(invoice, "wrong", person=boss(), at=still_clock.forward(days=1))
    (kept,) = accounts_of(who, date(2026, 3, 3), date(2026, 3, 3))
    assert sorted((line.text, line.minor) for line in kept.lines) == [
        ("Credit note C-2026-0001", -FULL),
        (f"Deposit of {invoice.number} free again", 1_000),
        (f"No longer waived on {invoice.number}", 400),
    ]
    assert kept.closing_minor == 0


class TestPages:
    def test_the_page_the_paper_and_the_table_say_the_same(
        self, history: tuple[Customer, Invoice, Invoice], counter_client: Client
    ) -> None:
        who, first, second = history
        query = "?first=2026-03-12&last=2026-03-31"
        page = counter_client.get(f"/money/customers/{who.pk}/{query}").content.decode()
        paper = counter_client.get(f"/money/customers/{who.pk}/statement/{query}").content
        told = "".join(one.extract_text() for one in PdfReader(io.BytesIO(paper)).pages)
        for text in ("Open before this day", "£138.32", f"Moved to {second.number}", "£64.16"):
            assert text in page
            assert text in told
        rows = list(read_csv(counter_client.get(f"/money/customers/{who.pk}/{query}&as=csv").content))
        assert rows[1] == ["2026-03-12", "Open before this day", "", "", "", "138.32", "GBP"]
        assert rows[-1][5] == "64.16"
        book_rows = list(read_xlsx(counter_client.get(f"/money/customers/{who.pk}/{query}&as=xlsx").content))
        assert len(book_rows) == len(rows)
        assert first.number in page

    def test_days_that_make_no_sense_are_told_and_everything_is_shown(
        self, history: tuple[Customer, Invoice, Invoice], counter_client: Client
    ) -> None:
        address = f"/money/customers/{history[0].pk}/"
        page = counter_client.get(f"{address}?first=2026-04-01&last=2026-03-01").content.decode()
        assert "The last day lies before the first one." in page
        assert "That is no date we can read." in counter_client.get(f"{address}?first=soon").content.decode()

    def test_nobody_was_billed_yet(self, counter_client: Client) -> None:
        who = a_customer()
        assert "Nothing was billed yet" in counter_client.get(f"/money/customers/{who.pk}/").content.decode()
        assert counter_client.get(f"/money/customers/{who.pk}/statement/").status_code == 200
        assert "Nothing was open" in counter_client.get("/money/ageing/").content.decode()

    def test_strangers_sign_in_and_the_bench_stays_out(self, stranger_client: Client, colleague_client: Client) -> None:
        for address in (f"/money/customers/{a_customer().pk}/", "/money/ageing/"):
            assert stranger_client.get(address).status_code == 302
            assert colleague_client.get(address).status_code == 403


# Columns of 30 days from the day a bill was due: common practice, no source.
@pytest.mark.parametrize(
    ("late", "column"), [(-1, 0), (0, 0), (1, 1), (30, 1), (31, 2), (60, 2), (61, 3), (90, 3), (91, 4), (5_000, 4)]
)
def test_each_day_past_due_has_its_column(late: int, column: int) -> None:
    due_on = date(2026, 3, 1)
    assert column_of(1, due_on, due_on + timedelta(days=late)) == column
    assert COLUMNS[column_of(-1, due_on, due_on + timedelta(days=late))] == "To give back"


def test_the_columns_are_the_sum_of_what_is_open_on_any_day(history: tuple[Customer, Invoice, Invoice]) -> None:
    """The same from the list's SQL, from each invoice's steps and from the customer's account."""
    other = a_bill(a_customer("Tadeusz Skrzat"))
    for day in [date(2026, 2, 27) + timedelta(days=n) for n in range(0, 150, 7)]:
        aged = ageing(day)
        walked = [steps_of(one) for one in with_history(Invoice.objects.all())]
        dues = [sum(step.due_minor for step in steps if step.on <= day) for steps in walked]
        assert sum(row.total_minor for row in aged.totals()) == sum(dues)
        mine = [row.total_minor for row in aged.rows if row.customer_pk == history[0].pk]
        assert sum(mine) == accounts_of(history[0], None, day)[0].closing_minor
        assert sum(row.invoices for row in aged.rows) == sum(1 for one in dues if one)
        listed: Any = with_account(Invoice.objects.filter(kind="invoice", issued_on__lte=day), day)
        assert sorted(one.due for one in listed) == sorted(
            due for due, steps in zip(dues, walked, strict=True) if steps[0].on <= day
        )
    assert other.customer_id != history[0].pk


def test_late_money_moves_on_through_the_columns(counter_client: Client, still_clock: StillClock) -> None:
    invoice = a_bill(a_customer("=cmd()"))
    for day, column in ((invoice.due_on, 1), (invoice.due_on + timedelta(days=31), 3), (invoice.due_on + timedelta(days=400), 5)):
        rows = list(csv.reader(io.StringIO(counter_client.get(f"/money/ageing/?day={day}&as=csv").content.decode("utf-8-sig"))))
        assert rows[1][0] == "'=cmd()"
        assert rows[1][column] == rows[2][column] == rows[1][7] == "74.16"
    page = counter_client.get(f"/money/ageing/?day={invoice.due_on + timedelta(days=31)}").content.decode()
    assert "31–60 days late" in page
    assert "£74.16" in page


def test_the_same_queries_at_one_customer_and_at_many(counter_client: Client, django_assert_num_queries: Any) -> None:
    who = a_customer()
    first, other = a_bill(who), a_bill(who)
    book(other, PaymentKind.PAID, 1_000)
    credit_part(other, whole_lines(other, 0), "goodwill", person=boss(), at=other.at)
    addresses = ("/money/ageing/", f"/money/customers/{who.pk}/")
    taken = []
    for address in addresses:
        with CaptureQueriesContext(connection) as one:
            counter_client.get(address)
        taken.append(len(one))
    for n in range(3):
        book(a_bill(who), PaymentKind.PAID, 1_000)
        book(a_bill(a_customer(f"Customer {n}")), PaymentKind.PAID, 1_000)
    credit_part(first, whole_lines(first, 0), "goodwill", person=boss(), at=first.at)
    for address, number in zip(addresses, taken, strict=True):
        with django_assert_num_queries(number):
            counter_client.get(address)


ODD = (
    "-1",
    "9999-99-99",
    "0000-00-00",
    "9999-12-31",
    "0001-01-01",
    "\x00",
    "\u202e<b>'\"",
    "x" * 5_000,
    "２０２６",
    "2026-Q9",
    "2026",
)


@pytest.mark.parametrize("odd", ODD, ids=ascii)
def test_odd_addresses_are_no_server_error(owner_client: Client, odd: str) -> None:
    who = a_customer()
    pages = (
        *(f"customers/{who.pk}/", f"customers/{who.pk}/statement/", "ageing/"),
        *("books/", "books/journal/", "books/tax/", "books/papers/"),
    )
    for page in pages:
        asked = dict.fromkeys(("first", "last", "period", "day", "currency"), odd)
        for query in (asked, {**asked, "as": "csv"}, {"first": odd, "last": odd}):
            assert owner_client.get(f"/money/{page}", query).status_code in (200, 422), page
