"""What is done where a job ends without repair: fees booked as they were agreed to, held parts let go."""

from datetime import datetime

from django.db import transaction
from django.utils.timezone import localdate

from inventory import services as stock
from inventory.models import Hold
from jobs.models import Job, JobAct, LabourEntry, Stage, Step, WaitsFor
from jobs.queries.collection import IS_BACK
from jobs.queries.declining import holds_of
from jobs.queries.fees import DECLINE_TEXT, Fee, fees_of
from jobs.services.log import guard, profile
from jobs.services.minimum import minimum_words
from jobs.services.stages import log_job, open_job, perform
from shop.acts import Refused, Stale
from shop.models import Staff


@transaction.atomic
def book_minimum(job: Job, *, person: Staff, at: datetime) -> LabourEntry:
    """Top the labour up to the minimum bench fee: one entry for the difference. Refused where it wasn't agreed or is reached."""
    current = log_job(job)
    fee = fees_of(current, profile()).minimum
    if not fee.agreed_minor:
        raise Refused("No minimum bench fee was agreed to at intake, so none can be charged.", code="not_agreed")
    if not fee.is_due:
        raise Refused("The labour of this job reaches the minimum bench fee already; nothing is missing.", code="reached")
    return _book(current, fee, minimum_words(current), person, at)


@transaction.atomic
def book_fees(job: Job, *, person: Staff, at: datetime) -> list[LabourEntry]:
    """All that is due once the estimate was declined: what is missing to the minimum, then the fee for declining."""
    current = log_job(job)
    if current.stage != Stage.DECLINED:
        raise Refused(
            f"Job {current.number} is at “{current.get_stage_display()}”: these fees are due once the estimate was declined.",
            code="wrong_stage",
        )
    fees = fees_of(current, profile())
    if not fees.any_due:
        raise Refused("Nothing more is due: no fee was agreed to that isn't in the labour already.", code="nothing_due")
    booked = []
    if fees.minimum.is_due:
        booked.append(_book(current, fees.minimum, minimum_words(current), person, at))
    if fees.decline.is_due:
        booked.append(_book(current, fees.decline, f"{DECLINE_TEXT}, agreed at intake", person, at))
    return booked


def _book(job: Job, fee: Fee, text: str, person: Staff, at: datetime) -> LabourEntry:
    guard(job, fee.amount_minor - (fee.booked.billed_minor if fee.booked else 0), "labour")
    job.version += 1
    job.save(update_fields=["version"])
    return LabourEntry.objects.create(
        job=job,
        worker=person,
        step=Step.INSPECTION,
        text=text[:160],
        worked_on=localdate(at),
        flat_minor=fee.amount_minor,
        amount_minor=fee.amount_minor,
        corrects=fee.booked,
        at=at,
        person=person,
    )


@transaction.atomic
def let_go(job: Job, *, at: datetime) -> list[Hold]:
    """Let go of every part that is held for a declined job; the decisions stay readable in the log."""
    current = open_job(job)
    if current.stage != Stage.DECLINED:
        raise Refused(f"Job {current.number} isn't declined, so its parts stay held.", code="wrong_stage")
    held = holds_of(current)
    if not held:
        raise Stale("Nothing is held for this job any more.")
    for one in held:
        stock.release_hold(one, at=at)
    return held


@transaction.atomic
def is_back(job: Job, *, person: Staff, at: datetime) -> JobAct:
    """Say that a declined set is as it came, as near as can be: from now on it waits for whoever collects it."""
    done = perform(job, IS_BACK, person=person, at=at)
    Job.objects.filter(pk=job.pk).update(waits_for=WaitsFor.PERSON, waits_note="collection", waits_since_at=at)
    job.refresh_from_db()
    return done
