"""What a set is expected to come to, as it is kept when an estimate goes out."""

from dataclasses import dataclass
from datetime import datetime

from jobs.models import Estimate, Goal
from jobs.queries.learned.outlook import outlook_of
from jobs.queries.sheet import JUDGED, sheet_of
from shop.models import Profile


@dataclass(frozen=True, slots=True)
class Expected:
    """Minor units with tax; `facts` are kept beside it, so that years later it can be told what it rested on."""

    low_minor: int
    median_minor: int
    high_minor: int
    from_jobs: int
    facts: dict[str, int | float]


def expected_of(estimate: Estimate, profile: Profile, at: datetime) -> Expected | None:
    """Asked before the transaction that sends, which must not wait for it. None where past jobs say nothing of such work:
    under warranty, and on sets for show.
    """
    job = estimate.job
    if job.warranty_of_id or job.goal in (Goal.MUSEUM, Goal.DISPLAY):
        return None
    found = outlook_of(job, sheet_of(job, JUDGED), profile, at)
    told = found.outlook
    facts: dict[str, int | float] = {
        "widening": round(found.lesson.learnt.widening, 4),
        "settled": found.settled,
        "open": len(found.open),
        "hour_rate_minor": profile.hour_rate_minor,
        "replaced_low": told.replaced[0],
        "replaced_median": told.replaced[1],
        "replaced_high": told.replaced[2],
    }
    return Expected(told.low_minor, told.median_minor, told.high_minor, told.from_jobs, facts)
