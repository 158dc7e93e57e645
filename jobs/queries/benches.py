"""What stands at which bench: a lane a bench, and one for what stands at none."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import BooleanField, Case, F, QuerySet, Value, When
from django.utils.timezone import localdate

from jobs.models import Job, Stage, Timer
from jobs.queries.hours import Hours, hours_of_open
from shop.models import Bench


@dataclass(frozen=True, slots=True)
class Running:
    """A clock that runs, and the minutes it has run so far. `over_night`: it was started on an earlier day."""

    clock: Timer
    minutes: int
    over_night: bool


@dataclass(frozen=True, slots=True)
class Ticket:
    """One job as it stands in a lane, with the clocks that run on it. `late_days` and `waits_days` count to today."""

    job: Job
    hours: Hours
    clocks: Sequence[Running] = ()
    late_days: int = 0
    is_today: bool = False
    waits_days: int = 0


@dataclass(frozen=True, slots=True)
class Lane:
    """One bench, or None for what stands at none. `key` is the digit that puts a set there, empty beyond the ninth bench."""

    bench: Bench | None
    key: str
    tickets: list[Ticket] = field(default_factory=list)

    @property
    def name(self) -> str:
        return self.bench.name if self.bench else "No bench yet"

    @property
    def anchor(self) -> str:
        return f"lane-{self.bench.pk}" if self.bench else "lane-none"

    @property
    def worked_on(self) -> list[Ticket]:
        return [ticket for ticket in self.tickets if ticket.clocks]

    @property
    def is_doubled(self) -> bool:
        """Clocks run on more than one job of a bench, where one job at a time is worked on."""
        return self.bench is not None and len(self.worked_on) > 1


def running_clocks(at: datetime) -> dict[int, list[Running]]:
    """All clocks that run, by job, the longest first."""
    found: dict[int, list[Running]] = {}
    for clock in Timer.objects.select_related("person").order_by("started_at", "pk"):
        found.setdefault(clock.job_id, []).append(running_of(clock, at))
    return found


def running_of(clock: Timer, at: datetime) -> Running:
    minutes = max(int((at - clock.started_at).total_seconds() // 60), 0)
    return Running(clock, minutes, localdate(clock.started_at) < localdate(at))


def lanes(at: datetime) -> list[Lane]:
    """In six queries, however many jobs there are."""
    clocks, hours = running_clocks(at), hours_of_open()
    listed = [Lane(bench, str(place) if place < 10 else "") for place, bench in enumerate(Bench.objects.filter(in_use=True), 1)]
    nowhere = Lane(None, "0")
    by_bench = {lane.bench.pk: lane for lane in listed if lane.bench}
    for job in in_order(Job.objects.open().with_heads()):
        ticket = _ticket(job, hours.get(job.pk, Hours()), clocks.get(job.pk, ()), at)
        by_bench.get(job.bench_id or 0, nowhere).tickets.append(ticket)
    return [*listed, nowhere]


def in_order(jobs: "QuerySet[Job]") -> "QuerySet[Job]":
    """The nearest promise first, none last; of one day's, what can be worked on now before what waits; then the longest wait."""
    waits = Case(When(waits_for="", then=Value(False)), default=Value(True), output_field=BooleanField())
    promised, since = F("promised_on").asc(nulls_last=True), F("waits_since_at").asc(nulls_first=True)
    return jobs.order_by(promised, waits, since, "pk")


def _ticket(job: Job, hours: Hours, clocks: Sequence[Running], at: datetime) -> Ticket:
    today = localdate(at)
    # A set that is ready has kept its promise.
    due_on = None if job.stage == Stage.READY else job.promised_on
    late = max((today - due_on).days, 0) if due_on else 0
    waits = (today - localdate(job.waits_since_at)).days if job.waits_for and job.waits_since_at else 0
    return Ticket(job, hours, clocks, late, due_on == today, max(waits, 0))
