"""What is owed by how late it is, for each customer, as it stood after any day."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q, QuerySet

from billing.models import Invoice, OpenAccount, PaperKind, Payment
from billing.queries.accounts import end_of, with_account

# The last day past due that belongs to each column; the columns' width is common practice, no source.
STEPS = (0, 30, 60, 90)
COLUMNS = ("Not yet due", "1–30 days late", "31–60 days late", "61–90 days late", "Over 90 days late", "To give back")
TO_GIVE_BACK = len(COLUMNS) - 1


@dataclass(frozen=True, slots=True)
class AgeRow:
    """Sums of one customer in one currency, in the order of COLUMNS; money to give back is below nothing."""

    customer_pk: int
    name: str
    currency: str
    sums_minor: tuple[int, ...]
    invoices: int

    @property
    def total_minor(self) -> int:
        return sum(self.sums_minor)

    def columns(self) -> list[tuple[str, int]]:
        return list(zip(COLUMNS, self.sums_minor, strict=True))


@dataclass(frozen=True, slots=True)
class Ageing:
    as_of: date
    rows: tuple[AgeRow, ...]

    def totals(self) -> list[AgeRow]:
        """One row a currency: the sums of all customers. Exactly the sum of all that is open."""
        return [
            _total(code, [row for row in self.rows if row.currency == code]) for code in sorted({r.currency for r in self.rows})
        ]


def _total(currency: str, rows: Iterable[AgeRow]) -> AgeRow:
    listed = list(rows)
    sums = tuple(sum(column) for column in zip(*(row.sums_minor for row in listed), strict=True))
    return AgeRow(0, "All customers", currency, sums, sum(row.invoices for row in listed))


def column_of(due_minor: int, due_on: date, as_of: date) -> int:
    if due_minor < 0:
        return TO_GIVE_BACK
    late = (as_of - due_on).days
    return next((place for place, most in enumerate(STEPS) if late <= most), len(STEPS))


def _may_be_open(as_of: date) -> Q:
    """What was open after that day is open now, or something came in or was credited since."""
    paid = Payment.objects.filter(at__gte=end_of(as_of)).order_by().values("invoice")
    credited = Invoice.objects.filter(issued_on__gt=as_of, credits__isnull=False).order_by().values("credits")
    opened = OpenAccount.objects.order_by().values("invoice")
    return Q(pk__in=opened) | Q(pk__in=paid) | Q(pk__in=credited)


def ageing(as_of: date) -> Ageing:
    """One query, whatever the number of customers and invoices. Those that owe most come first within a currency."""
    issued = Invoice.objects.filter(_may_be_open(as_of), kind=PaperKind.INVOICE, issued_on__lte=as_of)
    open_ones: QuerySet[Any] = with_account(issued, as_of).order_by("pk")
    open_ones = open_ones.exclude(due=0)
    sums: dict[tuple[int, str, str], list[int]] = defaultdict(lambda: [0] * len(COLUMNS))
    counts: dict[tuple[int, str, str], int] = defaultdict(int)
    for pk, name, currency, due_on, due in open_ones.values_list("customer", "customer__name", "currency", "due_on", "due"):
        sums[pk, name, currency][column_of(due, due_on, as_of)] += due
        counts[pk, name, currency] += 1
    rows = [AgeRow(*key, tuple(minor), counts[key]) for key, minor in sums.items()]
    return Ageing(as_of, tuple(sorted(rows, key=lambda row: (row.currency, -row.total_minor, row.name, row.customer_pk))))
