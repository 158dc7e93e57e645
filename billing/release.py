"""Hand-over: the set goes back to its owner, locked by safety and by money together."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from billing.queries import money_missing, money_words, standing_invoices
from jobs.models import HandOver, HandOverKind, Job, Stage
from jobs.queries.missing import safety_missing
from jobs.queries.sheet import sheet_of
from jobs.services.proving import record_hand_over
from jobs.services.stages import lock_job
from jobs.services.warranty import Days, start_warranty
from shop.acts import Refused
from shop.models import Staff


@dataclass(frozen=True, slots=True)
class Signature:
    """Who takes the set and signs; `how_disabled` for a set that goes back unsafe or unproven."""

    received_by: str
    how_disabled: str = ""


def missing_for_hand_over(job: Job) -> list[str]:
    """Everything that still locks the set in: safety, stage, money."""
    missing = [] if job.stage == Stage.READY else ["the stage “Ready to collect”"]
    return missing + safety_missing(job) + money_missing(job)


def missing_for_unsafe_return(job: Job) -> list[str]:
    """A set may go back unrepaired or unsafe, disabled and signed for; only money holds it then."""
    return money_missing(job)


@transaction.atomic
def hand_over(job: Job, signature: Signature, *, person: Staff, at: datetime) -> HandOver:
    """Hand a proven set over and start its warranty."""
    current = lock_job(job)
    _refuse(missing_for_hand_over(current))
    done = record_hand_over(
        current,
        HandOverKind.PROVEN,
        received_by=signature.received_by,
        how_disabled="",
        money=money_words(current),
        person=person,
        at=at,
    )
    start_warranty(current, _days(current, at))
    job.refresh_from_db()
    return done


@transaction.atomic
def return_unsafe(job: Job, signature: Signature, *, person: Staff, at: datetime) -> HandOver:
    """Give a set back that is not proven: disabled, and signed for as unsafe."""
    current = lock_job(job)
    _refuse(missing_for_unsafe_return(current))
    done = record_hand_over(
        current,
        HandOverKind.UNSAFE,
        received_by=signature.received_by,
        how_disabled=signature.how_disabled,
        money=money_words(current),
        person=person,
        at=at,
    )
    if sheet_of(current).fitted:
        start_warranty(current, _days(current, at))
    job.refresh_from_db()
    return done


def _days(job: Job, at: datetime) -> Days:
    first = standing_invoices(job).first()
    return Days(timezone.localdate(at), first.issued_on if first else None)


def _refuse(missing: list[str]) -> None:
    if missing:
        raise Refused("The set stays here until there is: " + "; ".join(missing) + ".", code="missing")
