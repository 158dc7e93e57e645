"""The books balance whatever happened; tax is the sum of frozen lines; files come back without loss."""

from collections import Counter
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from billing.exports import journal_sheet, papers_sheet, tax_sheet
from billing.models import Invoice, InvoiceLine, PaymentKind
from billing.queries import account_of
from billing.queries.journal import DEPOSITS, LOST, OWED, SALE_HELD, WAIVED, Journal, journal_of, unbalanced
from billing.queries.periods import Period, periods_until, read_period
from billing.queries.sales import sales
from billing.queries.tax_report import paper_rows, tax_report
from billing.services import credit, credit_part, give_back_deposit, move_credit, take_back, take_deposit
from inventory.models import SupplierBill
from shop.clock import now
from shop.models import Profile, TaxRounding
from shop.tabular import read_csv, read_xlsx
from tests.billing.histories import ACTS, a_bill, book, boss, play, whole_lines
from tests.builders import a_customer, a_job, a_supplier, an_invoice, some_work
from tests.conftest import MONDAY, StillClock

FULL = 7_416
YEAR = Period(date(2026, 1, 1), date(2026, 12, 31), "2026", "the year 2026")
ALWAYS = Period(date(2000, 1, 1), date(2099, 12, 31))
# What a spreadsheet would run, and what looks like it, OWASP's page on CSV injection names the signs.
AWKWARD = ("=cmd()", "-5 %", "+44 20 7946 0000", "'x", "''x", "@SUM(A1)", "\t=1", '"quoted", and; more', "two\nlines")


def sums(journal: Journal) -> dict[str, int]:
    return {one.account: one.debit_minor - one.credit_minor for one in journal.sums()}


def lines_of(journal: Journal, text: str) -> list[list[tuple[str, int]]]:
    return [[(line.account, line.minor) for line in entry.lines] for entry in journal.entries if entry.text.startswith(text)]


@pytest.mark.django_db
class TestEntries:
    def test_an_invoice_with_a_deposit(self) -> None:
        a_bill(deposit_minor=1_000)
        kept = journal_of(ALWAYS, "GBP")
        assert lines_of(kept, "Deposit taken") == [[("money received: cash", 1_000), (DEPOSITS, -1_000)]]
        assert lines_of(kept, "Invoice") == [
            [
                (OWED, FULL - 1_000),
                (DEPOSITS, 1_000),
                ("sales: parts", -180),
                ("sales: labour", -6_000),
                ("tax at 20 %", -1_236),
            ]
        ]

    def test_money_and_what_was_let_go(self) -> None:
        invoice = a_bill()
        book(invoice, PaymentKind.PAID, 1_000)
        book(invoice, PaymentKind.WAIVED, 416)
        book(invoice, PaymentKind.WRITTEN_OFF, 6_000)
        book(invoice, PaymentKind.PAID, 500)
        kept = journal_of(ALWAYS, "GBP")
        assert lines_of(kept, "Paid") == [
            [(OWED, -1_000), ("money received: cash", 1_000)],
            [(LOST, -500), ("money received: cash", 500)],
        ]
        assert lines_of(kept, "Waived") == [[(OWED, -416), (WAIVED, 416)]]
        assert lines_of(kept, "Written off") == [[(OWED, -6_000), (LOST, 6_000)]]

    def test_a_credit_in_part_and_the_rest(self) -> None:
        invoice = a_bill(deposit_minor=1_000)
        credit_part(invoice, whole_lines(invoice, 0), "goodwill", person=boss(), at=now())
        credit(invoice, "wrong", person=boss(), at=now())
        kept = journal_of(ALWAYS, "GBP")
        assert lines_of(kept, "Credit note in part") == [[(OWED, -144), ("sales: parts", 120), ("tax at 20 %", 24)]]
        assert sums(kept) == {"money received: cash": 1_000, DEPOSITS: -1_000} | dict.fromkeys(
            (OWED, "sales: parts", "sales: labour", "tax at 20 %"), 0
        )

    def test_a_move_is_one_entry_that_names_both_invoices(self) -> None:
        who = a_customer()
        first, second = a_bill(who), a_bill(who)
        book(first, PaymentKind.PAID, FULL + 500, keep=True)
        line = move_credit(first, second, 500, person=boss(), at=now())
        (entry,) = [one for one in journal_of(ALWAYS, "GBP").entries if one.text.startswith("Moved")]
        assert entry.paper == f"{first.number} to {second.number}"
        assert [(one.account, one.minor) for one in entry.lines] == [(OWED, 500), (OWED, -500)]
        take_back(line, "wrong one", person=boss(), at=now())
        assert unbalanced(journal_of(ALWAYS, "GBP").entries) == []
        assert len([one for one in journal_of(ALWAYS, "GBP").entries if "Moved" in one.text]) == 2

    def test_deposits_given_back_and_bills_of_suppliers(self) -> None:
        job = a_job("inspecting")
        take_deposit(job, 3_000, "card", person=boss(), at=now())
        give_back_deposit(job, 3_000, "cash", person=boss(), at=now())
        values = {"currency": "EUR", "net_minor": 10_000, "tax_minor": 1_900, "at": now(), "person": boss()}
        SupplierBill.objects.create(supplier=a_supplier(), number="-7", billed_on=now().date(), **values)
        kept = journal_of(ALWAYS, "GBP")
        assert sums(kept)[DEPOSITS] == 0
        (bill,) = [one for one in kept.entries if one.currency == "EUR"]
        assert [(one.account, one.minor) for one in bill.lines] == [
            ("bought: parts and carriage", 10_000),
            ("tax paid to suppliers", 1_900),
            ("money owed to suppliers", -11_900),
        ]
        assert {(one.account, one.currency) for one in kept.sums() if one.currency == "EUR"} == {
            (line.account, "EUR") for line in bill.lines
        }

    def test_a_bill_at_no_charge_is_written_down_too(self) -> None:
        job = a_job("repairing", with_fit=False)
        some_work(job, 30, not_charged="warranty")
        invoice = an_invoice(job)
        (entry,) = journal_of(ALWAYS, "GBP").entries
        assert (entry.paper, [(line.account, line.minor) for line in entry.lines]) == (invoice.number, [(OWED, 0)])


@pytest.fixture
def three_bills(db: None, still_clock: StillClock) -> list[Invoice]:
    who = a_customer()
    return [
        a_bill(who, deposit_minor=1_000),
        a_bill(who, tax_rounding=TaxRounding.LINE, parts_tax_bp=1925),
        a_bill(who, prices_include_tax=True, hour_rate_minor=4_333),
    ]


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(steps=st.lists(st.tuples(st.sampled_from(ACTS), st.integers(0, 2), st.integers(0, 9_000)), min_size=3, max_size=10))
def test_any_history_balances(three_bills: list[Invoice], steps: list[tuple[str, int, int]]) -> None:
    """Each entry to nothing; accounts to what invoices say; both halves of a time to the whole; tax to the papers."""
    with transaction.atomic():
        play(three_bills, steps, MONDAY)
        whole = journal_of(ALWAYS, "GBP")
        assert unbalanced(whole.entries) == []
        kept, accounts = sums(whole), [account_of(one) for one in Invoice.objects.filter(kind="invoice")]
        assert kept[OWED] == sum(one.due_minor for one in accounts)
        assert kept.get(WAIVED, 0) == sum(one.waived_minor for one in accounts)
        assert kept.get(LOST, 0) == sum(one.lost_minor for one in accounts)
        assert kept[DEPOSITS] == sum(one.prepaid_minor for one in accounts) - 1_000
        sold = list(sales())
        out = sum(one.paid_out for one in sold)
        assert kept["money received: cash"] == 1_000 + sum(one.paid_minor - one.refunded_minor for one in accounts) - out
        assert kept.get(SALE_HELD, 0) == -sum(one.left for one in sold)
        middle = MONDAY.date() + timedelta(days=len(steps) // 2)
        halves = (Period(ALWAYS.first, middle), Period(middle + timedelta(days=1), ALWAYS.last))
        parts = [entry for half in halves for entry in journal_of(half, "GBP").entries]
        assert Counter((one.paper, one.lines) for one in parts) == Counter((one.paper, one.lines) for one in whole.entries)
        _tax_is_the_papers(ALWAYS)
        transaction.set_rollback(True)


def _tax_is_the_papers(period: Period) -> None:
    report, rows = tax_report(period), paper_rows(period)
    (total,) = report.sums()
    assert (total.taxable_minor, total.tax_minor) == (sum(r.net_minor for r in rows), sum(r.tax_minor for r in rows))
    lines = InvoiceLine.objects.filter(invoice__issued_on__range=(period.first, period.last)).select_related("invoice")
    taxable: Counter[int] = Counter()
    for line in lines:
        taxable[line.tax_bp] += -line.net_minor if line.invoice.is_credit else line.net_minor
    assert {row.rate_bp: row.taxable_minor for row in report.rows} == dict(taxable)


@pytest.mark.django_db
def test_tax_of_a_month_has_its_credit_notes_taken_off(still_clock: StillClock) -> None:
    """Worked by hand: parts 1.80 at 7 %, labour 60.00 at 20 %; in April the 1.20 at C2 is credited."""
    invoice = a_bill(parts_tax_bp=700)
    still_clock.forward(days=31)
    credit_part(invoice, whole_lines(invoice, 0), "goodwill", person=boss(), at=still_clock.now)
    march, april = read_period("2026-03"), read_period("2026-04")
    assert march is not None
    assert april is not None
    assert [(row.rate_bp, row.taxable_minor, row.tax_minor, row.papers) for row in tax_report(march).rows] == [
        (2000, 6_000, 1_200, 1),
        (700, 180, 13, 1),
    ]
    assert [(row.rate_bp, row.taxable_minor, row.tax_minor, row.papers) for row in tax_report(april).rows] == [(700, -120, -8, 1)]


@pytest.mark.django_db
def test_several_currencies_are_never_added(still_clock: StillClock) -> None:
    a_bill()
    Profile.objects.update(currency="JPY")
    a_bill()
    assert {(row.currency, row.taxable_minor) for row in tax_report(ALWAYS).rows} == {("GBP", 6_180), ("JPY", 6_180)}
    assert {one.currency for one in journal_of(ALWAYS, "JPY").sums()} == {"GBP", "JPY"}
    cells = {(row[-1], row[7]) for row in journal_sheet(journal_of(ALWAYS, "JPY")).rows if row[5] == "sales: labour"}
    assert cells == {("GBP", Decimal("60.00")), ("JPY", Decimal(6_000))}


@pytest.mark.django_db
@pytest.mark.parametrize("name", AWKWARD)
def test_files_come_back_without_loss(name: str, still_clock: StillClock) -> None:
    invoice = a_bill(a_customer(name))
    note = credit_part(invoice, whole_lines(invoice, 0), name, person=boss(), at=now())
    for sheet in (journal_sheet(journal_of(YEAR, "GBP")), tax_sheet(tax_report(YEAR)), papers_sheet(paper_rows(YEAR), "papers")):
        assert len(sheet.rows) >= 1
        from_csv, from_book = list(read_csv(sheet.content("csv"))), list(read_xlsx(sheet.content("xlsx")))
        assert from_csv[0] == from_book[0] == list(sheet.headings)
        assert from_csv[1:] == [[_as_written(cell) for cell in row] for row in sheet.rows]
        assert [[_value(cell) for cell in row] for row in from_book[1:]] == [[_value(cell) for cell in row] for row in sheet.rows]
        assert _starts_no_formula(sheet.content("csv"))
    (last,) = [row for row in paper_rows(YEAR) if row.number == note.number]
    assert (last.customer, last.reason, last.gross_minor) == (invoice.customer.name, note.reason, -144)


def _as_written(cell: object) -> str:
    if cell is None:
        return ""
    return cell.isoformat() if isinstance(cell, date) else f"{cell:f}" if isinstance(cell, Decimal) else str(cell)


def _value(cell: Any) -> Any:
    """A workbook keeps numbers and days, not how many decimals they were written with."""
    if isinstance(cell, datetime):
        return cell.date()
    if isinstance(cell, int | float | Decimal):
        return Decimal(str(cell)).normalize()
    return cell or None


def _starts_no_formula(content: bytes) -> bool:
    rows = content.decode("utf-8-sig").split("\r\n")
    return not any(cell[:1] in ("=", "@", "\t") for row in rows for cell in row.split(","))


class TestPeriods:
    @pytest.mark.parametrize(
        ("code", "first", "last"),
        [
            ("2026-02", date(2026, 2, 1), date(2026, 2, 28)),
            ("2024-02", date(2024, 2, 1), date(2024, 2, 29)),
            ("2026-Q3", date(2026, 7, 1), date(2026, 9, 30)),
            ("2026", date(2026, 1, 1), date(2026, 12, 31)),
        ],
    )
    def test_are_read_by_their_code(self, code: str, first: date, last: date) -> None:
        read = read_period(code)
        assert read is not None
        assert (read.first, read.last, read.query) == (first, last, f"period={code}")

    @pytest.mark.parametrize("code", ["", "2026-13", "2026-Q5", "26", "2026-00", "٢٠٢٦", "2026-1", "0000"])
    def test_what_is_none_is_none(self, code: str) -> None:
        assert read_period(code) is None

    def test_only_those_with_papers_are_offered(self) -> None:
        offered = dict(periods_until(date(2025, 11, 20), date(2026, 2, 3)))
        assert [one.code for one in offered["Months"]] == ["2026-02", "2026-01", "2025-12", "2025-11"]
        assert [one.code for one in offered["Quarters"]] == ["2026-Q1", "2025-Q4"]
        assert [one.code for one in offered["Years"]] == ["2026", "2025"]


BOOKS = ("/money/books/", "/money/books/journal/", "/money/books/tax/", "/money/books/papers/")


@pytest.mark.django_db
class TestPages:
    def test_show_the_period_asked_for(self, owner_client: Client, still_clock: StillClock) -> None:
        invoice = a_bill()
        book(invoice, PaymentKind.PAID, 1_000)
        assert "money owed by customers" in owner_client.get("/money/books/?period=2026-03").content.decode()
        journal = owner_client.get("/money/books/journal/").content.decode()
        for text in (invoice.number, "sales: labour", "Paid, cash", "tax at 20 %", "£12.36"):
            assert text in journal
        assert "£61.80" in owner_client.get("/money/books/tax/?period=2026-Q1").content.decode()
        assert invoice.number in owner_client.get("/money/books/papers/?first=2026-03-02&last=2026-03-02").content.decode()
        for address in BOOKS:
            assert invoice.number not in owner_client.get(f"{address}?period=2025").content.decode()

    def test_an_empty_period_says_so(self, owner_client: Client, still_clock: StillClock) -> None:
        for address in BOOKS:
            page = owner_client.get(address).content.decode()
            assert "in this period" in page
            assert "as=csv" not in page

    @pytest.mark.parametrize(
        ("query", "told"),
        [
            ("period=2026-99", "Select a valid choice."),
            ("first=soon&last=2026-03-01", "That is no date we can read."),
            ("first=2026-03-02&last=2026-03-01", "The last day lies before the first one."),
            ("first=2026-03-02", "Give both days, or choose a period."),
        ],
    )
    def test_days_that_make_no_sense_are_told(self, owner_client: Client, query: str, told: str, still_clock: StillClock) -> None:
        for address in BOOKS:
            answer = owner_client.get(f"{address}?{query}")
            assert answer.status_code == 422
            assert told in answer.content.decode()

    def test_files_are_given_under_a_telling_name(self, owner_client: Client, still_clock: StillClock) -> None:
        a_bill()
        for address, name in zip(BOOKS[1:], ("journal", "tax", "papers"), strict=True):
            for ending in ("csv", "xlsx"):
                answer = owner_client.get(f"{address}?period=2026-Q1&as={ending}")
                assert f'filename="{name}-2026-Q1.{ending}"' in answer.headers["Content-Disposition"]
        assert list(read_csv(owner_client.get("/money/books/papers/?period=2026&as=csv").content))[1][10:13] == [
            "61.80",
            "12.36",
            "74.16",
        ]

    def test_are_the_owners_alone(self, stranger_client: Client, counter_client: Client, colleague_client: Client) -> None:
        for address in BOOKS:
            assert stranger_client.get(address).status_code == 302
            assert counter_client.get(address).status_code == colleague_client.get(address).status_code == 403

    def test_the_same_queries_at_one_paper_and_at_many(
        self, owner_client: Client, still_clock: StillClock, django_assert_num_queries: Any
    ) -> None:
        invoice = a_bill()
        book(invoice, PaymentKind.PAID, 1_000)
        credit_part(invoice, whole_lines(invoice, 0), "goodwill", person=boss(), at=now())
        taken = []
        for address in BOOKS:
            owner_client.get(address)
            with CaptureQueriesContext(connection) as one:
                owner_client.get(address)
            taken.append(len(one))
        for _ in range(3):
            more = a_bill(invoice.customer)
            book(more, PaymentKind.PAID, 1_000)
            credit_part(more, whole_lines(more, 1), "goodwill", person=boss(), at=now())
            credit_part(more, whole_lines(more, 0), "goodwill", person=boss(), at=now())
        for address, number in zip(BOOKS, taken, strict=True):
            with django_assert_num_queries(number):
                owner_client.get(address)
