"""Sets that are ready and not collected: since when, which notices went out, what the rules of the place let the shop do next."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import DateTimeField, F, OuterRef, QuerySet, Subquery
from django.utils import timezone

from jobs.models import CollectionNotice, Job, JobAct, NoticeKind, Stage
from shop.jurisdictions.rules import Uncollected

DEFER = "Before anything is sold: read the current text, and ask a licensed practitioner of your place."


def uncollected() -> "QuerySet[Job]":
    """Ready sets, the longest first, each with `ready_at` and its notices."""
    became = JobAct.objects.filter(job=OuterRef("pk"), to_stage=Stage.READY).order_by("-pk").values("at")[:1]
    ready = Job.objects.filter(stage=Stage.READY).annotate(ready_at=Subquery(became, output_field=DateTimeField()))
    return ready.with_heads().prefetch_related("notices__person").order_by(F("ready_at").asc(), "pk")


@dataclass(frozen=True, slots=True)
class Clock:
    """One set's clock on a day. `mark` and `words`: what the rules allow or want next."""

    job: Job
    ready_on: date
    notices: tuple[CollectionNotice, ...]
    rule: Uncollected
    day: date

    def last(self, kind: str) -> CollectionNotice | None:
        return next((one for one in reversed(self.notices) if one.kind == kind), None)

    @property
    def ready_days(self) -> int:
        return (self.day - self.ready_on).days

    @property
    def sale_notice_from_on(self) -> date:
        """The first day on which a notice of sale may go out."""
        return self.ready_on + timedelta(days=self.rule.wait_days)

    @property
    def may_go_on(self) -> date:
        """The day that the notice of sale names; without one the earliest day that a notice of today or later could name."""
        sale = self.last(NoticeKind.SALE)
        if sale is not None and sale.names_day_on is not None:
            return sale.names_day_on
        return max(self.day, self.sale_notice_from_on) + timedelta(days=self.rule.notice_days)

    @property
    def wants_collect(self) -> bool:
        return NoticeKind.COLLECT in self.rule.kinds and self.last(NoticeKind.COLLECT) is None

    @property
    def days_left(self) -> int | None:
        """Days to the one that the notice of sale names; None while there is no such notice."""
        sale = self.last(NoticeKind.SALE)
        return (sale.names_day_on - self.day).days if sale and sale.names_day_on else None

    @property
    def standing(self) -> tuple[str, str]:
        """Mark and word for where it stands."""
        if self.days_left is not None:
            return ("wait", f"{self.days_left} days left") if self.days_left > 0 else ("warn", "The day named is here")
        if self.wants_collect:
            return "open", "No notice yet"
        return ("warn", "Notice of sale possible") if self.day >= self.sale_notice_from_on else ("wait", "Waiting")

    @property
    def next_step(self) -> str:
        if self.days_left is not None:
            if self.days_left > 0:
                return "The set may not be sold before the day that the notice names. Hand it over if they come."
            return f"The day that the notice named is here. {DEFER}"
        if self.wants_collect:
            return "Send a notice that the set is ready to be collected, and write it down here."
        if self.day < self.sale_notice_from_on:
            return f"A notice of sale may go out from {self.sale_notice_from_on:%d %B %Y}."
        return f"A notice of sale may go out; the day it names lies at least {self.rule.notice_days} days ahead. {DEFER}"


def clock_of(job: Job, rule: Uncollected, day: date) -> Clock:
    """`job` as `uncollected` reads it."""
    ready_at = job.ready_at or job.waits_since_at or job.taken_in_at  # type: ignore[attr-defined]
    return Clock(job, timezone.localdate(ready_at), tuple(job.notices.all()), rule, day)  # type: ignore[attr-defined]
