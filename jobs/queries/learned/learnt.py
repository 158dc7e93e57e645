"""What the shop has learned, learned once and kept until the log, the labour or a job's stage moves on.

Reading and learning takes a moment for some thousand entries, and the process keeps what came of it. A shop of twenty years, with
some hundred thousand entries, would keep each finished job's `PastJob` in a table of its own, written when the job becomes ready,
and read those rows only.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.core.cache import cache
from django.db.models import Max

from jobs.forecast.calibration import Calibration, calibrate
from jobs.forecast.history import Learnt, learn_from
from jobs.models import Forecast, Job, JobAct, LabourEntry, LogEntry
from jobs.queries.learned.past import Finished, finished_jobs
from shop.models import Profile

KEPT_SECONDS = 600


@dataclass(frozen=True, slots=True)
class Lesson:
    """`jobs` are the finished jobs it rests on; `calibration` says how the shop's own forecasts did."""

    learnt: Learnt
    jobs: tuple[Finished, ...]
    calibration: Calibration


def lesson(profile: Profile, at: datetime) -> Lesson:
    """Four short queries where nothing moved on since; five more where it must be learned anew."""
    key = _version(profile)
    kept: Lesson | None = cache.get(key)
    if kept is None:
        kept = _learn(profile, at)
        cache.set(key, kept, KEPT_SECONDS)
    return kept


def _version(profile: Profile) -> str:
    newest = [model.objects.aggregate(newest=Max("pk"))["newest"] or 0 for model in (LogEntry, LabourEntry, JobAct, Job)]
    return f"learned:{profile.version}:{':'.join(map(str, newest))}"


def _learn(profile: Profile, at: datetime) -> Lesson:
    jobs = tuple(finished_jobs(profile, at))
    calibration = calibrate(compared(jobs))
    return Lesson(learn_from([one.past for one in jobs], widening=calibration.factor), jobs, calibration)


def compared(jobs: Sequence[Finished]) -> list[tuple[float, float, float, float]]:
    """First forecasts of these jobs, as they were before they were widened, and what the jobs came to. One query."""
    came_to = {one.pk: one.came_to_minor for one in jobs if one.came_to_minor}
    firsts: dict[int, Forecast] = {}
    for forecast in Forecast.objects.filter(job__in=list(came_to)).order_by("pk"):
        firsts.setdefault(forecast.job_id, forecast)
    return [(*plain_range(one), float(came_to[pk])) for pk, one in firsts.items()]


def plain_range(forecast: Forecast) -> tuple[float, float, float]:
    """Low, median and high without the widening of that day: else a range would be corrected for having been corrected."""
    low, median, high = float(forecast.low_minor), float(forecast.median_minor), float(forecast.high_minor)
    widening = float(forecast.facts.get("widening", 1) or 1)
    if widening == 1 or not low or not median:
        return low, median, high
    return median * (low / median) ** (1 / widening), median, median * (high / median) ** (1 / widening)
