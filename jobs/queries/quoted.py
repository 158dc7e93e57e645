"""Hours quoted against hours worked, for jobs that are done. Only like is held against like.

Quoted are the typed hours of labour, at the high end, of what the customer agreed to: the first time, and the last. Worked is all
time logged that counts, charged or not, without what was logged for a task at a fixed price, as such a task quotes no hours.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median

from django.db.models import Max, Sum

from jobs.models import Consent, Job, JobAct, LabourEntry, Stage
from jobs.models.estimate import ConsentAnswer, EstimateLineKind
from jobs.queries.alternatives import lines_in
from jobs.queries.tiers import agreed_tier

UNDER_WARRANTY = "work under warranty, quoted at nothing"
NO_ESTIMATE = "no estimate was agreed to"
NO_HOURS = "the estimate names no hours, only fees and tasks at a fixed price"
ONLY_WORKED = "the estimate only repeats hours that were worked already"
NOTHING_LOGGED = "no time was logged"
# A dot and a row each: more are neither seen nor read.
MOST_JOBS = 200


@dataclass(frozen=True, slots=True)
class Quoted:
    """One job, in minutes. `times` says how often hours were agreed to."""

    pk: int
    number: str
    model: str
    first_minutes: int
    last_minutes: int
    worked_minutes: int
    times: int

    @property
    def ratio(self) -> float:
        """Worked for each hour quoted at last."""
        return self.worked_minutes / self.last_minutes

    @property
    def first_ratio(self) -> float:
        return self.worked_minutes / self.first_minutes


@dataclass(frozen=True, slots=True)
class QuotedHours:
    """`left_out` are (why, how many jobs); `older` jobs of the time were not read, as there are so many newer ones."""

    jobs: tuple[Quoted, ...]
    left_out: tuple[tuple[str, int], ...]
    older: int = 0

    @property
    def read(self) -> int:
        return len(self.jobs) + self.left_out_count

    @property
    def median_ratio(self) -> float | None:
        return median(job.ratio for job in self.jobs) if self.jobs else None

    @property
    def median_first_ratio(self) -> float | None:
        return median(job.first_ratio for job in self.jobs) if self.jobs else None

    @property
    def left_out_count(self) -> int:
        return sum(count for _, count in self.left_out)


def quoted_hours(start: datetime, end: datetime) -> QuotedHours:
    """Jobs that became ready from `start` to before `end` and are still done, the MOST_JOBS newest of them. Six queries."""
    done = (Stage.READY, Stage.HANDED_OVER, Stage.SOLD)
    acts = JobAct.objects.filter(to_stage=Stage.READY, at__gte=start, job__stage__in=done).order_by()
    last = dict(acts.values_list("job").annotate(Max("at")))
    keys = sorted((at, pk) for pk, at in last.items() if at < end)
    newest = [pk for _, pk in keys[-MOST_JOBS:]]
    jobs = list(Job.objects.filter(pk__in=newest).select_related("radio__model").order_by("pk"))
    agreed, worked = _agreed(jobs), _worked(jobs)
    kept: list[Quoted] = []
    why: Counter[str] = Counter()
    for job in jobs:
        told = _told(job, agreed.get(job.pk, []), worked.get(job.pk, 0))
        if isinstance(told, str):
            why[told] += 1
        else:
            kept.append(told)
    return QuotedHours(tuple(kept), tuple(why.most_common()), len(keys) - len(jobs))


def _told(job: Job, consents: Sequence[Consent], worked: int) -> Quoted | str:
    """The job's hours, or why they can't be compared."""
    if job.warranty_of_id:
        return UNDER_WARRANTY
    if not consents:
        return NO_ESTIMATE
    hours = [(_minutes(consent, typed=True), _minutes(consent, typed=False)) for consent in consents]
    typed = [minutes for minutes, _ in hours if minutes]
    if not typed:
        return ONLY_WORKED if any(drawn for _, drawn in hours) else NO_HOURS
    if not worked:
        return NOTHING_LOGGED
    return Quoted(job.pk, job.number, str(job.radio.model), typed[0], typed[-1], worked, len(typed))


def _minutes(consent: Consent, *, typed: bool) -> int:
    """Hours of labour in what was agreed to."""
    estimate = consent.estimate
    if estimate is None:
        return 0
    lines = lines_in(estimate.lines.all(), agreed_tier(consent, estimate))  # type: ignore[attr-defined]
    return sum(one.minutes for one in lines if one.kind == EstimateLineKind.LABOUR and one.from_log != typed)


def _agreed(jobs: Sequence[Job]) -> dict[int, list[Consent]]:
    found: dict[int, list[Consent]] = {}
    consents = Consent.objects.filter(job__in=jobs, answer=ConsentAnswer.AGREED, estimate__isnull=False)
    for consent in (
        consents.select_related("estimate").prefetch_related("estimate__lines", "estimate__alternatives").order_by("pk")
    ):
        found.setdefault(consent.job_id, []).append(consent)
    return found


def _worked(jobs: Sequence[Job]) -> dict[int, int]:
    counts = LabourEntry.objects.filter(job__in=jobs, corrected_by__isnull=True, withdrawn=False, task__isnull=True)
    return dict(counts.order_by().values_list("job").annotate(minutes=Sum("minutes")))
