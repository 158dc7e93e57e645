"""Deposits: money before the bill, and what is given back of it."""

from datetime import datetime

from django.db import transaction

from billing.queries import deposits_left_minor
from jobs.models import Deposit, Job
from jobs.services import consents
from jobs.services.stages import lock_job
from shop.acts import Refused
from shop.models import Staff


@transaction.atomic
def take_deposit(job: Job, amount_minor: int, how: str, *, person: Staff, at: datetime) -> Deposit:
    """Money before the bill. Once the job is billed, money is a payment of the invoice."""
    if lock_job(job).billed:
        raise Refused(f"Job {job.number} is billed already. Book the money as a payment of its invoice.", code="billed")
    return consents.take_deposit(job, amount_minor, how, person=person, at=at)


@transaction.atomic
def give_back_deposit(job: Job, amount_minor: int, how: str, *, person: Staff, at: datetime) -> Deposit:
    """Give back what no invoice has set off; the job is locked first, so that two people can't give back the same money."""
    left = deposits_left_minor(lock_job(job))
    return consents.give_back_deposit(job, amount_minor, how, left_minor=left, person=person, at=at)
