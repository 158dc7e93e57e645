"""Sets that wait to be collected: since when, what was sent and arrived, what is disputed, what the rules let the shop do next.

A set waits once it is ready, and a declined one once it was put back as it came.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import DateTimeField, F, OuterRef, Q, QuerySet, Subquery
from django.utils import timezone

from jobs.models import CollectionNotice, DisputeStep, Job, JobAct, NoticeKind, Stage
from shop.jurisdictions.rules import Uncollected
from shop.jurisdictions.selling import (
    Against,
    Dispute,
    Proof,
    SaleCase,
    Sent,
    against_sale,
    may_sell_from,
    stopped_days,
    what_then,
)

DEFER = "Before anything is sold: read the current text, and ask a licensed practitioner of your place."
IS_BACK = "is_back"


def uncollected() -> "QuerySet[Job]":
    """Sets that wait for whoever collects them, the longest first, each with `ready_at`, its notices and disputes."""
    acts = JobAct.objects.filter(job=OuterRef("pk")).order_by("-pk")
    became = acts.filter(Q(to_stage=Stage.READY) | Q(act=IS_BACK)).values("at")[:1]
    at = Subquery(became, output_field=DateTimeField())
    known = Job.objects.at_stages(Stage.READY, Stage.DECLINED).annotate(last_act=Subquery(acts.values("act")[:1]), ready_at=at)
    waiting = known.filter(Q(stage=Stage.READY) | Q(last_act=IS_BACK))
    told = ("notices__person", "notices__service__person", "dispute_steps__person")
    return waiting.with_heads().prefetch_related(*told).order_by(F("ready_at").asc(), "pk")  # type: ignore[attr-defined, no-any-return]


def disputes_of(steps: Iterable[DisputeStep]) -> tuple[Dispute, ...]:
    """Steps folded into disputes; a step that opens one that is open already, or settles none, changes nothing."""
    found: list[Dispute] = []
    for step in steps:
        is_open = bool(found) and found[-1].settled_on is None
        if step.opens and not is_open:
            found.append(Dispute(step.on))
        elif not step.opens and is_open:
            found[-1] = Dispute(found[-1].opened_on, step.on)
    return tuple(found)


def sent_of(notice: CollectionNotice) -> Sent:
    proofs = tuple(Proof(one.kind, one.on) for one in notice.service.all())  # type: ignore[attr-defined]
    return Sent(notice.kind, notice.sent_on, notice.names_day_on, proofs)


@dataclass(frozen=True, slots=True)
class Clock:
    """One set's clock on a day. `mark` and `words`: what the rules allow or want next."""

    job: Job
    ready_on: date
    notices: tuple[CollectionNotice, ...]
    rule: Uncollected
    day: date
    disputes: tuple[Dispute, ...] = ()

    def last(self, kind: str) -> CollectionNotice | None:
        return next((one for one in reversed(self.notices) if one.kind == kind), None)

    @property
    def ready_days(self) -> int:
        return (self.day - self.ready_on).days

    @property
    def is_disputed(self) -> bool:
        return bool(self.disputes) and self.disputes[-1].settled_on is None

    @property
    def is_stopped(self) -> bool:
        """A dispute is open, and the place's rule stops the clock for it."""
        return self.is_disputed and self.rule.disputed_stops

    @property
    def stopped_days(self) -> int:
        """Days of disputes since it was ready that don't count."""
        return stopped_days(self.disputes, self.ready_on, self.day) if self.rule.disputed_stops else 0

    @property
    def sale_notice_from_on(self) -> date:
        """The first day on which a notice of sale may go out."""
        return self.ready_on + timedelta(days=self.rule.wait_days + (self.stopped_days if self.rule.wait_days else 0))

    @property
    def may_go_on(self) -> date:
        """The day that the notice of sale names, later by the days of a dispute; without one the earliest possible."""
        sale = self.last(NoticeKind.SALE)
        if sale is not None and sale.names_day_on is not None:
            return may_sell_from(sent_of(sale), self.disputes, self.day, self.rule)
        return max(self.day, self.sale_notice_from_on) + timedelta(days=self.rule.notice_days)

    @property
    def wants_collect(self) -> bool:
        return NoticeKind.COLLECT in self.rule.kinds and self.last(NoticeKind.COLLECT) is None

    @property
    def days_left(self) -> int | None:
        """Days to the one that the notice of sale names; None while there is no such notice."""
        sale = self.last(NoticeKind.SALE)
        return (self.may_go_on - self.day).days if sale and sale.names_day_on else None

    @property
    def came_back(self) -> bool:
        """The newest notice came back and wasn't served since."""
        return bool(self.notices) and sent_of(self.notices[-1]).came_back

    def case(self, day: date | None = None, auctioned: bool = True) -> SaleCase:
        """As the pure judgement wants it; `auctioned` is assumed until somebody says how it was sold."""
        return SaleCase(self.ready_on, day or self.day, tuple(map(sent_of, self.notices)), self.disputes, auctioned)

    def against(self, day: date | None = None, auctioned: bool = True) -> list[Against]:
        return against_sale(self.case(day, auctioned), self.rule)

    @property
    def may_be_sold(self) -> bool:
        """Nothing that is written down speaks against a sale today."""
        return not self.against()

    @property
    def standing(self) -> tuple[str, str]:
        """Mark and word for where it stands."""
        if self.is_disputed:
            return "warn", "Disputed: the clock stands" if self.is_stopped else "Disputed"
        if self.came_back:
            return "warn", "The notice came back"
        if self.days_left is not None:
            return ("wait", f"{self.days_left} days left") if self.days_left > 0 else ("warn", "The day named is here")
        if self.wants_collect:
            return "open", "No notice yet"
        return ("warn", "Notice of sale possible") if self.day >= self.sale_notice_from_on else ("wait", "Waiting")

    @property
    def next_step(self) -> str:
        if self.is_stopped:
            return "What is owed is disputed: no notice of sale and no sale until it is settled. These days don't count."
        if self.came_back:
            return f"The notice came back. By the rules of the place: {what_then(self.rule)}."
        if self.days_left is not None:
            if self.days_left > 0:
                return "The set may not be sold before the day that the notice names. Hand it over if they come."
            return f"The day that the notice named is here. {self._still_wanted}{DEFER}"
        if self.wants_collect:
            return "Send a notice that the set is ready to be collected, and write it down here."
        if self.day < self.sale_notice_from_on:
            return f"A notice of sale may go out from {self.sale_notice_from_on:%d %B %Y}."
        return f"A notice of sale may go out; the day it names lies at least {self.rule.notice_days} days ahead. {DEFER}"

    @property
    def _still_wanted(self) -> str:
        first = next((one for one in self.against() if one.code not in ("too_early", "auction")), None)
        return f"{first.words}. " if first else ""


def clock_of(job: Job, rule: Uncollected, day: date) -> Clock:
    """`job` as `uncollected` reads it."""
    ready_at = job.ready_at or job.waits_since_at or job.taken_in_at  # type: ignore[attr-defined]
    told: tuple[DisputeStep, ...] = tuple(job.dispute_steps.all())  # type: ignore[attr-defined]
    return Clock(job, timezone.localdate(ready_at), tuple(job.notices.all()), rule, day, disputes_of(told))  # type: ignore[attr-defined]
