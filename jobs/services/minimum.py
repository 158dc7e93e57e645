"""The minimum bench fee as it stands in the log: only ever the difference between it and the work.

Work logged after the fee was topped up takes the place of the top-up, so that nobody pays the fee and the work.
"""

from datetime import datetime

from jobs.models import Job, LabourEntry
from jobs.queries.exposure import standing_labour
from jobs.queries.fees import DECLINE_TEXT, MINIMUM_TEXT, fee_entry, largest_within
from jobs.services.log import profile
from shop.models import Staff
from shop.money import show


def minimum_words(job: Job) -> str:
    terms = profile()
    return f"{MINIMUM_TEXT}: what is missing to {show(job.minimum_fee_minor, terms.currency, terms.locale)}, agreed at intake"


def make_room(job: Job, more_minor: int, *, person: Staff, at: datetime) -> None:
    """Before `more_minor` of labour is logged: shrink the top-up that stands to what is then still missing."""
    if more_minor <= 0 or not job.minimum_fee_minor:
        return
    entries = list(standing_labour(job))
    standing = fee_entry(entries, MINIMUM_TEXT)
    if standing is None:
        return
    decline = fee_entry(entries, DECLINE_TEXT)
    work = [one.billed_minor for one in entries if one not in (standing, decline)]
    missing = largest_within(profile(), [*work, more_minor], job.minimum_fee_minor)
    if missing < standing.amount_minor:
        _replace(standing, missing, person, at)


def _replace(standing: LabourEntry, missing: int, person: Staff, at: datetime) -> None:
    gone = missing == 0
    LabourEntry.objects.create(
        job=standing.job,
        worker=standing.worker,
        step=standing.step,
        text="more work is logged, and the fee is credited to it" if gone else standing.text,
        worked_on=standing.worked_on,
        flat_minor=None if gone else missing,
        amount_minor=missing,
        corrects=standing,
        withdrawn=gone,
        at=at,
        person=person,
    )
