"""What the Today page is made of: short lists from every app, each line with the act that resolves it."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from billing.models import Invoice, PaperKind
from billing.queries import with_account
from inventory.models import Lot, OrderLine, Part
from inventory.queries.orders import late_lines
from jobs.models import Job, Stage, Timer
from shop.models import Staff

LONGEST = 12
AHEAD_DAYS = 7


@dataclass(frozen=True)
class Day:
    """Everything of a day; lists are capped at `LONGEST` lines, the page links to the whole."""

    today: date
    clock: Timer | None
    promised: list[Job]
    waiting: list[Job]
    ready: list[Job]
    returns: list[Lot]
    low: list[Part]
    late: list[OrderLine]
    unpaid: list[tuple[Invoice, int]]
    open_jobs: int

    @property
    def is_quiet(self) -> bool:
        return not (self.promised or self.waiting or self.ready or self.returns or self.low or self.late or self.unpaid)


def promised_soon(today: date) -> "QuerySet[Job]":
    """Overdue first, then what is promised within the week; a set that is ready has kept its promise."""
    soon = Job.objects.open().filter(promised_on__lte=today + timedelta(days=AHEAD_DAYS))
    return soon.exclude(stage=Stage.READY).with_heads().order_by("promised_on", "pk")


def waiting() -> "QuerySet[Job]":
    """Waiting for somebody or something, the longest wait first. Ready sets have a list of their own."""
    held_up = Job.objects.open().exclude(waits_for="").exclude(stage=Stage.READY)
    return held_up.with_heads().order_by("waits_since_at", "pk")


def ready() -> "QuerySet[Job]":
    return Job.objects.filter(stage=Stage.READY).with_heads().order_by("waits_since_at", "pk")


def returns_ending(today: date) -> "QuerySet[Lot]":
    """Lots of which parts still lie in a drawer while the days in which they can go back run out."""
    window = Q(return_until_on__gte=today, return_until_on__lte=today + timedelta(days=AHEAD_DAYS))
    lots = Lot.objects.filter(window).annotate(left=Coalesce(Sum("balances__on_hand"), 0)).filter(left__gt=0)
    return lots.select_related("part", "supplier").order_by("return_until_on", "pk")


def running_out() -> "QuerySet[Part]":
    kept = Part.objects.filter(in_use=True, minimum__gt=0).with_stock()
    return kept.filter(Q(free__lt=F("minimum"))).order_by("kind", "value_si", "pk")


def unpaid() -> list[tuple[Invoice, int]]:
    """Invoices with something due, the oldest first. A job's invoice that was credited owes nothing."""
    invoices: Any = with_account(Invoice.objects.filter(kind=PaperKind.INVOICE).select_related("customer", "job"))
    owing = invoices.filter(due__gt=0).order_by("due_on", "pk")
    return [(invoice, invoice.due) for invoice in owing[:LONGEST]]


def day_of(person: Staff, today: date) -> Day:
    return Day(
        today=today,
        clock=Timer.objects.select_related("job__radio__model").filter(person=person).first(),
        promised=list(promised_soon(today)[:LONGEST]),
        waiting=list(waiting()[:LONGEST]),
        ready=list(ready()[:LONGEST]),
        returns=list(returns_ending(today)[:LONGEST]),
        low=list(running_out()[:LONGEST]),
        late=list(late_lines(today)[:LONGEST]),
        unpaid=unpaid(),
        open_jobs=Job.objects.open().count(),
    )
