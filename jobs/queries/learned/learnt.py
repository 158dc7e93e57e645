"""What the shop has learned, learned once and kept until one of the jobs that it rests on changes.

A job's version moves with its log, its labour and its stage, so work on other sets forgets nothing of what was learned.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from django.core.cache import cache
from django.db.models import Max

from jobs.forecast.calibration import Calibration, calibrate
from jobs.forecast.history import Learnt, learn_from
from jobs.models import Forecast
from jobs.queries.learned.past import MOST_JOBS, Finished, finished_jobs, newest_done
from shop.models import Profile

KEPT_SECONDS = 600


@dataclass(frozen=True, slots=True)
class Lesson:
    """`jobs` are the first stays it rests on, of `looked_at` finished jobs; `calibration` says how the shop's forecasts did."""

    learnt: Learnt
    jobs: tuple[Finished, ...]
    calibration: Calibration
    looked_at: int = 0

    @property
    def words(self) -> str:
        """How many jobs it rests on, and that older ones are left out where there are more."""
        count = len(self.jobs)
        left_out = f", out of the newest {self.looked_at} that were finished" if self.looked_at >= MOST_JOBS else ""
        return f"Learned from {count} first {'stay' if count == 1 else 'stays'} of sets{left_out}." if count else ""


def lesson(profile: Profile, at: datetime) -> Lesson:
    """Two short queries where none of its jobs moved on since; seven more where it must be learned anew."""
    key = _version(profile)
    kept: Lesson | None = cache.get(key)
    if kept is None:
        kept = _learn(profile, at)
        cache.set(key, kept, KEPT_SECONDS)
    return kept


def _version(profile: Profile) -> str:
    """Of the jobs that are learned from, with their sets and models; and of the forecasts that are held against them."""
    facts = newest_done().values_list("pk", "version", "radio__version", "radio__model__version", "radio__model__set_class__name")
    digest = sha256(repr(list(facts)).encode()).hexdigest()
    forecasts = Forecast.objects.aggregate(newest=Max("pk"))["newest"] or 0
    return f"learned:{profile.version}:{forecasts}:{digest}"


def _learn(profile: Profile, at: datetime) -> Lesson:
    jobs = tuple(finished_jobs(profile, at))
    calibration = calibrate(compared(jobs))
    learnt = learn_from([one.past for one in jobs], widening=calibration.factor)
    return Lesson(learnt, jobs, calibration, newest_done().count())


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
