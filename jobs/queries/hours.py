"""Hours of open jobs: what was worked so far, against what the customer agreed to."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Sum

from jobs.models import Consent, EstimateLine, Job, LabourEntry
from jobs.models.estimate import ConsentAnswer, EstimateLineKind
from jobs.queries.tiers import holds


@dataclass(frozen=True, slots=True)
class Hours:
    """Minutes. `agreed` is None where no hours were agreed to: no consent yet, or one to a sum or to flat tasks only."""

    logged: int = 0
    agreed: int | None = None

    @property
    def is_over(self) -> bool:
        return self.agreed is not None and self.logged > self.agreed


def hours_of_open() -> dict[int, Hours]:
    """By the job's key, in three queries. A job without either isn't in it."""
    logged, agreed = _logged(), _agreed()
    return {pk: Hours(logged.get(pk, 0), agreed.get(pk)) for pk in logged.keys() | agreed.keys()}


def _logged() -> dict[int, int]:
    standing = LabourEntry.objects.filter(job__in=Job.objects.open(), corrected_by__isnull=True, withdrawn=False)
    sums = standing.order_by().values("job_id").annotate(sum=Sum("minutes"))
    return {row["job_id"]: row["sum"] for row in sums if row["sum"]}


def _agreed() -> dict[int, int]:
    """The time of the newest agreed version, of the alternative that was agreed to."""
    said_yes = Consent.objects.filter(job__in=Job.objects.open(), answer=ConsentAnswer.AGREED, estimate__isnull=False)
    newest = {one.job_id: one for one in said_yes.order_by("pk")}
    tiers = {one.estimate_id: (one.job_id, one.tier) for one in newest.values()}
    timed = EstimateLine.objects.filter(estimate__in=said_yes.values("estimate"), kind=EstimateLineKind.LABOUR, minutes__gt=0)
    sums: dict[int, int] = defaultdict(int)
    for estimate, line_tier, minutes in timed.values_list("estimate_id", "tier", "minutes"):
        job, tier = tiers.get(estimate, (0, 0))
        if job and holds(tier, line_tier):
            sums[job] += minutes
    return dict(sums)
