"""What a customer brings for their set and takes home again. The ledger of stock writes both."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from inventory import services as stock
from inventory.models import Condition, Drawer, Lot, Movement, Part
from jobs.models import Job
from jobs.services.stages import open_job
from shop.acts import Refused
from shop.models import Staff


@dataclass(frozen=True, slots=True)
class Brought:
    """Parts as the customer laid them on the counter."""

    part: Part
    drawer: Drawer
    count: int
    condition: str = Condition.NEW
    date_code: str = ""
    note: str = ""


@transaction.atomic
def bring(job: Job, brought: Brought, *, person: Staff, at: datetime) -> Lot:
    """A lot of the customer's own: it cost the shop nothing, is never charged, and goes into no other customer's set."""
    current = open_job(job)
    receipt = stock.Receipt(
        brought.part,
        brought.drawer,
        brought.count,
        0,
        timezone.localdate(at),
        date_code=brought.date_code,
        condition=brought.condition,
        note=brought.note,
        reason=f"brought for job {current.number}",
        owner=current.customer,
    )
    return stock.receive(receipt, person=person, at=at)


@transaction.atomic
def give_back(job: Job, lot: Lot, drawer: Drawer, count: int, *, person: Staff, at: datetime) -> Movement:
    _check_theirs(job, lot)
    return stock.give_back(lot, drawer, count, person=person, at=at, reference=job.number)


@transaction.atomic
def not_given_back(job: Job, given: Movement, *, person: Staff, at: datetime) -> Movement:
    _check_theirs(job, given.lot)
    return stock.not_given_back(given, person=person, at=at)


def _check_theirs(job: Job, lot: Lot) -> None:
    if lot.owner_id != job.customer_id:
        raise Refused(f"Lot {lot.pk} isn't what {job.customer} brought. Look at the list of their parts.", code="not_ours")
