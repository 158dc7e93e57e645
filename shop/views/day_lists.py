"""What the Today page asks every app for: the rows of each of its lists, in the order in which they are worked through."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Count, F, OuterRef, Prefetch, Q, QuerySet, Subquery

from billing.models import Invoice, OpenAccount
from billing.queries import with_account
from inventory.models import Balance, Kind, Lot, Part
from inventory.queries import shortages
from jobs.models import Estimate, Job, SoakRun, Stage, Timer, WaitsFor
from jobs.models.estimate import EstimateState
from jobs.models.job import OPEN_STAGES

AHEAD_DAYS = 7
# A set that is ready has kept its promise.
NOT_READY = tuple(stage for stage in OPEN_STAGES if stage != Stage.READY)


@dataclass(frozen=True, slots=True)
class Counts:
    """The day in figures, of open jobs. `answers`: how many wait for their customer's answer."""

    open: int
    overdue: int
    due_today: int
    answers: int
    ready: int

    @property
    def sentence(self) -> str:
        """`3 sets promised today, 1 overdue, 5 wait for an answer, 2 ready to collect.`"""
        told = []
        if self.due_today:
            told.append(f"{self.due_today} {'set' if self.due_today == 1 else 'sets'} promised today")
        if self.overdue:
            told.append(f"{self.overdue} overdue")
        if self.answers:
            told.append(f"{self.answers} {'waits' if self.answers == 1 else 'wait'} for an answer")
        if self.ready:
            told.append(f"{self.ready} ready to collect")
        return (", ".join(told) if told else "Nothing is due today, and nobody is waited for") + "."


def counts(today: date) -> Counts:
    """In one query."""
    at_work = Q(stage__in=NOT_READY)
    return Counts(
        **Job.objects.open().aggregate(
            open=Count("pk"),
            overdue=Count("pk", filter=at_work & Q(promised_on__lt=today)),
            due_today=Count("pk", filter=at_work & Q(promised_on=today)),
            answers=Count("pk", filter=at_work & Q(waits_for=WaitsFor.APPROVAL)),
            ready=Count("pk", filter=Q(stage=Stage.READY)),
        )
    )


def promised(first: date | None, last: date) -> "QuerySet[Job]":
    """Promised from `first` (None: whenever) to `last`, the earliest first."""
    due = Job.objects.at_stages(*NOT_READY).filter(promised_on__lte=last)
    return (due.filter(promised_on__gte=first) if first else due).with_heads().order_by("promised_on", "pk")


def waiting_for(what: str) -> "QuerySet[Job]":
    """The longest wait first. Ready sets have a list of their own."""
    return Job.objects.at_stages(*NOT_READY).filter(waits_for=what).with_heads().order_by("waits_since_at", "pk")


def on_soak() -> "QuerySet[Job]":
    """Each with `soak_began_at` of the run that is under way, the longest first; None where none runs."""
    running = SoakRun.objects.filter(job=OuterRef("pk"), ended_at=None).values("started_at")[:1]
    soaking = Job.objects.at_stages(*NOT_READY).filter(Q(stage=Stage.SOAKING) | Q(waits_for=WaitsFor.SOAK))
    return soaking.annotate(soak_began_at=Subquery(running)).with_heads().order_by(F("soak_began_at").asc(nulls_last=True), "pk")


def estimates_running_out(today: date) -> "QuerySet[Estimate]":
    """Versions with the customer whose standing days end within the week or are over, the first to end first."""
    sent = Estimate.objects.filter(state=EstimateState.SENT, job__in=Job.objects.at_stages(*NOT_READY).values("pk"))
    ending = sent.filter(stands_until_on__lte=today + timedelta(days=AHEAD_DAYS))
    return ending.select_related("job__radio__model", "job__customer").order_by("stands_until_on", "pk")


def clocks() -> "QuerySet[Timer]":
    """Everybody's, the one that runs longest first."""
    return Timer.objects.select_related("person", "job__radio__model", "job__bench").order_by("started_at", "pk")


def returns_ending(today: date) -> "QuerySet[Lot]":
    """Lots of which parts still lie in a drawer while the days in which they can go back run out.

    Each with `left`, its drawers in `places`, and `is_untested` for a valve of which no reading is kept.
    """
    window = Q(return_until_on__gte=today, return_until_on__lte=today + timedelta(days=AHEAD_DAYS), supplier__isnull=False)
    lots = Lot.objects.filter(window, on_hand__gt=0).annotate(left=F("on_hand"))
    untested = lots.annotate(readings=Count("tests")).select_related("part", "supplier")
    places = Prefetch("balances", Balance.objects.filter(on_hand__gt=0).select_related("drawer"), to_attr="places")
    return untested.prefetch_related(places).order_by("return_until_on", "pk")


def is_untested(lot: Any) -> bool:
    return lot.part.kind == Kind.VALVE and not lot.readings


def running_out() -> "QuerySet[Part]":
    """Parts of which less can be fitted now than is to be kept; each with `usable`, as the buy list counts."""
    return shortages.running_out().order_by("kind", "value_si", "pk")


def unpaid() -> "QuerySet[Invoice]":
    """Invoices with something due, the oldest first; each with `due`. A job's invoice that was credited owes nothing."""
    opened = OpenAccount.objects.filter(due_minor__gt=0).order_by().values("invoice")
    return with_account(Invoice.objects.filter(pk__in=opened).select_related("customer", "job")).order_by("due_on", "pk")


def soak_minutes(began_at: datetime | None, at: datetime) -> int:
    return max(int((at - began_at).total_seconds() // 60), 0) if began_at else 0
