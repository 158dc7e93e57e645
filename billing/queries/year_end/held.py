"""What the shop holds of other people's money at the end of a day, and what it had claimed back and not got."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Prefetch, Sum

from billing.models import Invoice, PaperKind, SurplusPayment, UncollectedSale
from billing.queries.accounts import account_of, with_account
from inventory.models import SupplierClaim, SupplierClaimStep
from inventory.queries.supplier_claims import ClaimStanding
from jobs.models import Deposit, Job


@dataclass(frozen=True, slots=True)
class Held:
    """Money of a customer that lies with the shop for a job: a deposit, or what is left of a sale."""

    job: Job
    minor: int
    text: str


def deposits_held(day: date, end: datetime, currency: str) -> list[Held]:
    """Deposits taken by then, less what went back and what bills had set off. Three queries."""
    left: dict[int, int] = defaultdict(int)
    for job, back, minor in _deposits(end):
        left[job] += -minor if back else minor
    issued = Invoice.objects.filter(kind=PaperKind.INVOICE, issued_on__lte=day, prepaid_minor__gt=0, currency=currency)
    for invoice in with_account(issued, day):
        left[invoice.job_id] -= account_of(invoice).prepaid_minor
    jobs = Job.objects.filter(pk__in=[job for job, minor in left.items() if minor]).select_related("customer", "radio__model")
    return [Held(job, left[job.pk], "deposit") for job in jobs.order_by("number")]


def _deposits(end: datetime) -> Iterable[tuple[int, bool, int]]:
    return Deposit.objects.filter(at__lt=end).order_by().values_list("job", "given_back").annotate(Sum("amount_minor"))


def surplus_held(day: date, end: datetime) -> list[Held]:
    """What sales of uncollected sets brought above what was owed, less what was paid out by then. Two queries."""
    paid = dict(SurplusPayment.objects.filter(at__lt=end).order_by().values_list("sale").annotate(Sum("amount_minor")))
    sales = UncollectedSale.objects.filter(sold_on__lte=day, at__lt=end, surplus_minor__gt=0)
    found = [
        Held(one.job, one.surplus_minor - paid.get(one.pk, 0), f"sold on {one.sold_on.isoformat()}")
        for one in sales.select_related("job__customer", "job__radio__model").order_by("pk")
    ]
    return [one for one in found if one.minor]


def supplier_claims_open(end: datetime) -> list[ClaimStanding]:
    """Claims that waited for an answer then, with their steps up to then. Two queries."""
    steps = Prefetch("steps", SupplierClaimStep.objects.filter(at__lt=end).order_by("pk"))
    claims: Any = SupplierClaim.objects.filter(at__lt=end).select_related("supplier", "lot__part").prefetch_related(steps)
    standing = [ClaimStanding(one, list(one.steps.all())) for one in claims.order_by("pk")]
    return [one for one in standing if one.steps and one.is_open]
