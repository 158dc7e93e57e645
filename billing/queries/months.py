"""Money by month: what was billed less what was credited, what came in, what the billed parts had cost.

Sums of bills are those of their frozen lines, by the day of the paper; money counts on its day in the shop's time zone, deposits
as well. The same sums as the journal's, in as many queries however many papers there are.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import BigIntegerField, F, Q, QuerySet, Sum
from django.db.models.functions import TruncMonth
from django.utils import timezone

from billing.models import Invoice, InvoiceLine, LineKind, PaperKind, Payment, PaymentKind, SurplusPayment, UncollectedSale
from billing.queries.accounts import end_of, start_of
from billing.queries.periods import Period
from jobs.models import Deposit


@dataclass(frozen=True, slots=True)
class Month:
    """Minor units of the shop's currency. Parts and work are without tax; work is labour and tasks at a fixed price."""

    first: date
    parts_minor: int = 0
    work_minor: int = 0
    tax_minor: int = 0
    received_minor: int = 0
    parts_cost_minor: int = 0

    @property
    def net_minor(self) -> int:
        return self.parts_minor + self.work_minor

    @property
    def gross_minor(self) -> int:
        return self.net_minor + self.tax_minor


@dataclass(frozen=True, slots=True)
class MoneyByMonth:
    """`elsewhere`: papers of the time in another currency, which are in no sum."""

    months: tuple[Month, ...]
    currency: str
    elsewhere: int = 0

    def total(self, name: str) -> int:
        return sum(getattr(month, name) for month in self.months)


def months_until(last: date, count: int) -> Period:
    """The month of a day and those before it, `count` in all."""
    number = last.year * 12 + last.month - count
    first = date(number // 12, number % 12 + 1, 1)
    return Period(first, last)


def money_by_month(period: Period, currency: str) -> MoneyByMonth:
    """From the first month of the period to its last, those without money as well. Nine queries."""
    papers = Invoice.objects.filter(issued_on__range=(period.first, period.last))
    ours = papers.filter(currency=currency)
    parts, work = _sold(ours)
    tax, cost = _signed(ours, Sum("tax_minor")), _cost(ours)
    received = _received(period, currency)
    months = tuple(
        Month(first, parts[first], work[first], tax[first], received[first], round(cost[first] / 1000))
        for first in _firsts(period)
    )
    return MoneyByMonth(months, currency, papers.exclude(currency=currency).count())


def _firsts(period: Period) -> list[date]:
    numbers = range(period.first.year * 12 + period.first.month - 1, period.last.year * 12 + period.last.month)
    return [date(number // 12, number % 12 + 1, 1) for number in numbers]


def _sold(papers: "QuerySet[Invoice]") -> tuple[Counter[date], Counter[date]]:
    """Parts, and work, each by month."""
    rows = (
        InvoiceLine.objects.filter(invoice__in=papers)
        .annotate(month=TruncMonth("invoice__issued_on"))
        .order_by()
        .values_list("month", "invoice__kind", "kind")
        .annotate(sum=Sum("net_minor"))
    )
    parts: Counter[date] = Counter()
    work: Counter[date] = Counter()
    for month, paper, kind, minor in rows:
        (parts if kind == LineKind.PART else work)[month] += -minor if paper == PaperKind.CREDIT_NOTE else minor
    return parts, work


def _signed(papers: "QuerySet[Invoice]", summed: Any) -> Counter[date]:
    rows = papers.annotate(month=TruncMonth("issued_on")).order_by().values_list("month", "kind").annotate(sum=summed)
    found: Counter[date] = Counter()
    for month, kind, minor in rows:
        found[month] += -minor if kind == PaperKind.CREDIT_NOTE else minor
    return found


def _cost(papers: "QuerySet[Invoice]") -> Counter[date]:
    """What the parts on the bills had cost, in thousandths, less those of bills that were taken back whole."""
    found: Counter[date] = Counter()
    for kind, lines, sign in ((PaperKind.INVOICE, "lines", 1), (PaperKind.CREDIT_NOTE, "credits__lines", -1)):
        each = F(f"{lines}__count") * F(f"{lines}__entry__lot__unit_cost_milli")
        only = Q(**{f"{lines}__kind": LineKind.PART})
        rows = (
            papers.filter(kind=kind, whole=True)
            .annotate(month=TruncMonth("issued_on"))
            .order_by()
            .values_list("month")
            .annotate(sum=Sum(each, filter=only, output_field=BigIntegerField(), default=0))
        )
        for month, milli in rows:
            found[month] += sign * milli
    return found


def _received(period: Period, currency: str) -> Counter[date]:
    """Money from customers and from sales of uncollected sets, less what went back; what moved between invoices came in once."""
    paid = _by_month(Payment.objects.filter(invoice__currency=currency), period, "kind")
    deposits = _by_month(Deposit.objects.all(), period, "given_back")
    signs = {PaymentKind.PAID: 1, PaymentKind.REFUND: -1}
    found: Counter[date] = Counter()
    for month, kind, minor in paid:
        found[month] += signs.get(kind, 0) * minor
    for month, given_back, minor in deposits:
        found[month] += -minor if given_back else minor
    for month, _, minor in _by_month(SurplusPayment.objects.all(), period, "how"):
        found[month] -= minor
    sales = UncollectedSale.objects.filter(sold_on__range=(period.first, period.last))
    by_month = sales.annotate(month=TruncMonth("sold_on")).order_by().values_list("month").annotate(sum=Sum("price_minor"))
    for month, minor in by_month:
        found[month] += minor
    return found


def _by_month(rows: "QuerySet[Any]", period: Period, by: str) -> Iterable[tuple[date, Any, int]]:
    booked = rows.filter(at__gte=start_of(period.first), at__lt=end_of(period.last))
    sums = booked.annotate(month=TruncMonth("at")).order_by().values_list("month", by).annotate(sum=Sum("amount_minor"))
    for moment, kind, minor in sums:
        yield _day(moment), kind, minor


def _day(moment: datetime) -> date:
    return timezone.localdate(moment)
