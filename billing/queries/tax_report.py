"""Tax and papers of a period, on the basis of issued papers: what was invoiced less what was credited."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import QuerySet

from billing.models import Invoice
from billing.queries.accounts import with_account
from billing.queries.frozen import frozen_totals
from billing.queries.journal import earlier_lines
from billing.queries.ledger import AT_ONCE
from billing.queries.periods import Period
from shop.models import TaxCategory
from shop.totals import TaxKey


@dataclass(frozen=True, slots=True)
class TaxRow:
    """One category at one rate in one currency, in minor units; credit notes count below nothing."""

    currency: str
    category: str
    rate_bp: int
    taxable_minor: int
    tax_minor: int
    papers: int

    @property
    def category_words(self) -> str:
        return TaxCategory(self.category).label if self.category in TaxCategory.values else "No category"


@dataclass(frozen=True, slots=True)
class TaxSum:
    """All rates of one currency: they are the papers' own totals."""

    currency: str
    taxable_minor: int
    tax_minor: int


@dataclass(frozen=True, slots=True)
class TaxReport:
    period: Period
    rows: tuple[TaxRow, ...]

    def sums(self) -> list[TaxSum]:
        taxable: Counter[str] = Counter()
        tax: Counter[str] = Counter()
        for row in self.rows:
            taxable[row.currency] += row.taxable_minor
            tax[row.currency] += row.tax_minor
        return [TaxSum(code, taxable[code], tax[code]) for code in sorted(taxable)]


def papers_of(period: Period) -> "QuerySet[Invoice]":
    issued = Invoice.objects.filter(issued_on__range=(period.first, period.last))
    return issued.select_related("customer", "job", "credits").order_by("issued_on", "pk")


def tax_report(period: Period) -> TaxReport:
    """The same number of queries for any period."""
    taxable: Counter[tuple[str, TaxKey]] = Counter()
    tax: Counter[tuple[str, TaxKey]] = Counter()
    papers: Counter[tuple[str, TaxKey]] = Counter()
    papers_read = papers_of(period).select_related("credits").prefetch_related("lines", "credits__credit_notes__lines")
    for paper in papers_read.iterator(chunk_size=AT_ONCE):
        sign = -1 if paper.is_credit else 1
        for key, taxed in _taxes(paper):
            taxable[paper.currency, key] += sign * taxed.taxable_minor
            tax[paper.currency, key] += sign * taxed.tax_minor
            papers[paper.currency, key] += 1
    order = sorted(papers, key=lambda both: (both[0], -both[1].rate_bp, both[1].category))
    rows = [
        TaxRow(code, key.category, int(key.rate_bp), taxable[code, key], tax[code, key], papers[code, key]) for code, key in order
    ]
    return TaxReport(period, tuple(rows))


def _taxes(paper: Invoice) -> Iterator[tuple[TaxKey, Any]]:
    before = earlier_lines(paper, paper.credits) if paper.credits else []
    for taxed in frozen_totals(paper, paper.lines.all(), before=before).taxes:  # type: ignore[attr-defined]
        yield taxed.tax, taxed


@dataclass(frozen=True, slots=True)
class PaperRow:
    """One issued paper as the accountant's list has it; sums of credit notes are below nothing."""

    pk: int
    number: str
    kind: str
    issued_on: date
    due_on: date
    customer: str
    tax_id: str
    country: str
    job: str
    credits: str
    reason: str
    currency: str
    net_minor: int
    tax_minor: int
    gross_minor: int
    deposit_minor: int
    due_minor: int


def paper_rows(period: Period) -> list[PaperRow]:
    """Invoices and credit notes issued in a period, with what is due on each now."""
    papers: Any = with_account(papers_of(period))
    return [_row(one) for one in papers]


def _row(paper: Any) -> PaperRow:
    sign = -1 if paper.is_credit else 1
    return PaperRow(
        pk=paper.pk,
        number=paper.number,
        kind=paper.get_kind_display() if paper.whole or not paper.is_credit else "Credit note in part",
        issued_on=paper.issued_on,
        due_on=paper.due_on,
        customer=paper.buyer_name,
        tax_id=paper.buyer_tax_id,
        country=paper.buyer_country,
        job=paper.job.number,
        credits=paper.credits.number if paper.credits else "",
        reason=paper.reason,
        currency=paper.currency,
        net_minor=sign * paper.net_minor,
        tax_minor=sign * paper.tax_minor,
        gross_minor=sign * paper.gross_minor,
        deposit_minor=paper.prepaid_minor,
        due_minor=paper.due,
    )
