"""What stands on which bench: a lane a bench, and one for what stands on none."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from jobs.models import Job, Timer
from jobs.queries.jobs import by_promise, with_lateness
from shop.models import Bench


@dataclass(frozen=True, slots=True)
class Ticket:
    """One job as it stands in a lane, with the clocks that run on it."""

    job: Job
    clocks: Sequence[Timer] = ()


@dataclass(frozen=True, slots=True)
class Lane:
    """One bench, or None for what stands on no bench. Tickets by promised date, then by what has waited longest."""

    bench: Bench | None
    tickets: list[Ticket] = field(default_factory=list)

    @property
    def name(self) -> str:
        return self.bench.name if self.bench else "Not on a bench"


def lanes(today: date) -> list[Lane]:
    """In three queries, however many jobs there are."""
    jobs = by_promise(with_lateness(Job.objects.open().with_heads(), today))
    clocks: dict[int, list[Timer]] = {}
    for clock in Timer.objects.select_related("person").order_by("started_at"):
        clocks.setdefault(clock.job_id, []).append(clock)
    listed = [Lane(bench) for bench in Bench.objects.filter(in_use=True)]
    by_bench: dict[int | None, Lane] = {lane.bench.pk if lane.bench else None: lane for lane in listed}
    nowhere = by_bench.setdefault(None, Lane(None))
    for job in jobs:
        by_bench.get(job.bench_id, nowhere).tickets.append(Ticket(job, clocks.get(job.pk, ())))
    return [*listed, nowhere]


def free_benches(lanes_now: Sequence[Lane]) -> list[Bench]:
    """Benches nothing stands on."""
    return [lane.bench for lane in lanes_now if lane.bench is not None and not lane.tickets]
