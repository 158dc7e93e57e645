"""The books as tables that leave the house: headings and rows for CSV and XLSX, sums as decimals beside their currency."""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from django.db.models import QuerySet

from billing.models import InvoiceLine
from billing.queries.ageing import COLUMNS, Ageing
from billing.queries.journal import Journal
from billing.queries.missed import Ranked
from billing.queries.profit import CauseCost, Group
from billing.queries.statement import CustomerAccount
from billing.queries.tax_report import PaperRow, TaxReport
from billing.queries.year_end import OWED, THERE, YearEnd, sections_of, side_total
from inventory.models import Lot
from jobs.queries.collection import Clock
from shop.money import amount
from shop.tabular import Cell, Sheet
from shop.web.saving import Columns, in_batches, sheet_of


def journal_sheet(journal: Journal) -> Sheet:
    headings = ("Entry", "Day", "Paper", "Text", "Customer or supplier", "Account", "Debit", "Credit", "Currency")
    return Sheet(f"journal-{journal.period.file_part}", headings, tuple(_journal_rows(journal)))


def _journal_rows(journal: Journal) -> Iterator[tuple[Cell, ...]]:
    for number, entry in enumerate(journal.entries, 1):
        for line in entry.lines:
            debit, credit = amount(line.debit_minor, entry.currency), amount(line.credit_minor, entry.currency)
            yield number, entry.on, entry.paper, entry.text, entry.who, line.account, debit, credit, entry.currency


def tax_sheet(report: TaxReport) -> Sheet:
    headings = ("Category", "Meaning", "Rate %", "Taxable", "Tax", "Currency", "Papers")
    rows = tuple(
        (
            row.category,
            row.category_words,
            Decimal(row.rate_bp) / 100,
            amount(row.taxable_minor, row.currency),
            amount(row.tax_minor, row.currency),
            row.currency,
            row.papers,
        )
        for row in report.rows
    )
    return Sheet(f"tax-{report.period.file_part}", headings, rows)


PAPER_HEADINGS = (
    *("Number", "Kind", "Issued", "Due on", "Customer", "Their tax number", "Country", "Job", "Credits", "Reason"),
    *("Net", "Tax", "Total", "Deposit set off", "Due now", "Currency"),
)


def papers_sheet(rows: list[PaperRow], name: str) -> Sheet:
    return Sheet(name, PAPER_HEADINGS, tuple(_paper_cells(row) for row in rows))


def _paper_cells(row: PaperRow) -> tuple[Cell, ...]:
    sums = (row.net_minor, row.tax_minor, row.gross_minor, row.deposit_minor, row.due_minor)
    return (
        row.number,
        row.kind,
        row.issued_on,
        row.due_on,
        row.customer,
        row.tax_id,
        row.country,
        row.job,
        row.credits,
        row.reason,
        *(amount(minor, row.currency) for minor in sums),
        row.currency,
    )


def uncollected_sheet(rows: Iterable[tuple[Clock, int | None]], currency: str) -> Sheet:
    columns: Columns = (
        ("Job", lambda one: one[0].job.number),
        ("Set", lambda one: one[0].job.radio),
        ("Customer", lambda one: one[0].job.customer),
        ("Telephone", lambda one: one[0].job.customer.phone),
        ("Ready since", lambda one: one[0].ready_on),
        ("Days", lambda one: one[0].ready_days),
        ("Owed", lambda one: None if one[1] is None else amount(one[1], currency)),
        ("Currency", lambda one: currency),
        ("Notices", lambda one: "; ".join(f"{note.sent_on} {note.get_kind_display().lower()}" for note in one[0].notices)),
        ("Where it stands", lambda one: one[0].standing[1]),
    )
    return sheet_of("not-collected", columns, rows)


LOT_LINES: Columns = (
    ("Line", lambda one: one.text),
    ("Position", lambda one: one.designator),
    ("Invoice", lambda one: one.invoice.number),
    ("Issued", lambda one: one.invoice.issued_on),
    ("Job", lambda one: one.invoice.job.number),
    ("Customer", lambda one: one.invoice.customer),
    ("Count", lambda one: one.count),
)


def lot_lines_sheet(lot: Lot, lines: "QuerySet[InvoiceLine]") -> Sheet:
    return sheet_of(f"lot-{lot.pk}-billed", LOT_LINES, in_batches(lines))


def ageing_sheet(aged: Ageing) -> Sheet:
    headings = ("Customer", *COLUMNS, "In all", "Currency", "Invoices")
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (row.name, *(amount(m, row.currency) for m in (*row.sums_minor, row.total_minor)), row.currency, row.invoices)
        for row in (*aged.rows, *aged.totals())
    )
    return Sheet(f"ageing-{aged.as_of.isoformat()}", headings, rows)


def statement_sheet(accounts: list[CustomerAccount], name: str) -> Sheet:
    headings = ("Day", "What", "Due on", "Charged", "Received or let go", "Open after it", "Currency")
    return Sheet(name, headings, tuple(row for account in accounts for row in _statement_rows(account)))


def _statement_rows(account: CustomerAccount) -> Iterator[tuple[Cell, ...]]:
    code = account.currency
    if account.first is not None:
        yield account.first, "Open before this day", None, None, None, amount(account.opening_minor, code), code
    for line, balance in zip(account.lines, account.balances(), strict=True):
        charged = amount(line.minor, code) if line.minor >= 0 else None
        received = amount(-line.minor, code) if line.minor < 0 else None
        yield line.on, line.text, line.due_on, charged, received, amount(balance, code), code


def groups_sheet(groups: Iterable[Group], word: str, currency: str) -> Sheet:
    sums = (
        ("Billed", "net_minor"),
        ("Of it work", "net_work_minor"),
        ("Parts", "parts_cost_minor"),
        ("Scrapped", "scrapped_minor"),
        ("Work", "work_cost_minor"),
        ("Credited by suppliers", "supplier_minor"),
        ("Waived, lost, sales", "forgone_minor"),
        ("Came back", "comebacks_minor"),
        ("Borne by other jobs", "carried_minor"),
        ("Earned", "result_minor"),
        ("An hour brought", "hour_brought_minor"),
        ("Left of an hour", "hour_earned_minor"),
    )
    headings = (word.capitalize(), "Jobs", "Of them came back", "Minutes worked", *(heading for heading, _ in sums), "Currency")
    rows: list[tuple[Cell, ...]] = [
        (
            *(one.name, one.sums.jobs, one.sums.came_back, one.sums.minutes),
            *(_or_none(getattr(one.sums, name), currency) for _, name in sums),
            currency,
        )
        for one in groups
    ]
    return Sheet(f"profit-by-{word.replace(' ', '-')}", headings, rows)


def _or_none(minor: int | None, currency: str) -> Decimal | None:
    return None if minor is None else amount(minor, currency)


def causes_sheet(causes: Iterable[CauseCost], currency: str) -> Sheet:
    rows: list[tuple[Cell, ...]] = [(one.label, one.claims, amount(one.loss_minor, currency), currency) for one in causes]
    return Sheet("came-back-by-cause", ("Cause", "Sets", "Cost", "Currency"), rows)


def ranked_sheet(ranked: Iterable[Ranked], currency: str) -> Sheet:
    headings = ("Where", "What happened", "Jobs", "Bill against estimate", "A job", "Minutes", "Currency")
    rows: list[tuple[Cell, ...]] = [
        (one.place, one.words, one.jobs, *(amount(m, currency) for m in (one.minor, one.each_minor)), one.minutes, currency)
        for one in ranked
    ]
    return Sheet("missed-most", headings, rows)


def year_end_sheet(end: YearEnd) -> Sheet:
    """A row a figure; sections end with their total, and the totals of both sides end the table."""
    sections, code = sections_of(end), end.currency
    rows: list[tuple[Cell, ...]] = []
    for one in sections:
        rows += [(one.title, row.text, row.detail, amount(row.minor, code), code) for row in one.rows]
        rows.append((one.title, "Together", one.note, amount(one.total_minor, code), code))
    for title, side in (("There in all", THERE), ("Owed in all", OWED)):
        rows.append((title, "", "", amount(side_total(sections, side), code), code))
    rows += [("What the books can't say", text, "", None, "") for text in end.unknown]
    return Sheet(f"years-end-{end.day.isoformat()}", ("Part", "What", "How it comes about", "Sum", "Currency"), rows)
