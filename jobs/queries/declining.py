"""What a declined job still has to be put back: parts that are in it, parts that are held for it."""

from dataclasses import dataclass

from inventory.models import Hold
from jobs.models import CameWith, Job, LogEntry
from jobs.queries.fees import Fees, fees_of
from jobs.queries.sheet import JUDGED, Sheet, sheet_of
from shop.models import Profile


@dataclass(frozen=True, slots=True)
class PutBack:
    """`fitted` are parts to take out, `wiring` what was written of the wiring, `came_with` what goes back with the set."""

    fees: Fees
    fitted: tuple[LogEntry, ...]
    held: tuple[Hold, ...]
    wiring: tuple[LogEntry, ...]
    came_with: tuple[CameWith, ...]
    missing: tuple[str, ...] = ()


def holds_of(job: Job) -> list[Hold]:
    entries = LogEntry.objects.filter(job=job, hold__ended_at__isnull=True, hold__isnull=False)
    return [entry.hold for entry in entries.select_related("hold__lot__part", "hold__drawer") if entry.hold is not None]


def put_back_missing(job: Job) -> list[str]:
    """What still has to be done before the set is as it came. Parts that stand on a bill were agreed to, and stay in."""
    missing = []
    fitted = [] if job.billed else sheet_of(job, JUDGED).fitted
    if fitted:
        places = ", ".join(fit.position.designator for fit in fitted if fit.position)
        missing.append(f"the parts out again that were fitted at {places}, or a bill for them")
    if holds_of(job):
        missing.append("the held parts let go")
    return missing


def put_back_of(job: Job, terms: Profile, sheet: Sheet | None = None) -> PutBack:
    sheet = sheet or sheet_of(job)
    came_with = tuple(job.came_with.all())  # type: ignore[attr-defined]
    missing = tuple(put_back_missing(job))
    return PutBack(fees_of(job, terms), tuple(sheet.fitted), tuple(holds_of(job)), tuple(sheet.wiring), came_with, missing)
