"""One job's profit laid open: every paper, part, hour and claim that makes a figure of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from billing.models import Invoice, Payment
from billing.queries.accounts import LET_GO
from billing.queries.profit.figures import JobProfit
from billing.queries.profit.jobs import profit_of
from inventory.models import SupplierClaimStep
from inventory.queries.supplier_claims import credited_by
from jobs.models import Claim, EntryKind, Job, LabourEntry, LogEntry
from jobs.queries.exposure import standing_labour
from shop.models import Profile


@dataclass(frozen=True, slots=True)
class CostedPart:
    """`milli` is what its lot cost, all of it, in thousandths; `price_minor` what the customer was charged, as priced."""

    entry: LogEntry
    milli: int

    @property
    def price_minor(self) -> int:
        return self.entry.price_minor


@dataclass(frozen=True)
class Opened:
    """`borne` are the claims charged to this job, `claim` is the one that this job is."""

    profit: JobProfit
    papers: Sequence[Invoice]
    parts: Sequence[CostedPart]
    scrapped: Sequence[CostedPart]
    labour: Sequence[LabourEntry]
    forgone: Sequence[Payment]
    supplier: Sequence[tuple[SupplierClaimStep, int]]
    borne: Sequence[tuple[Claim, JobProfit]]
    claim: Claim | None


def opened(job: Job, terms: Profile) -> Opened:
    """A few queries a job, and a few more for each claim on it."""
    profit = profit_of(job, terms)
    entries = LogEntry.objects.filter(job=job).select_related("position", "lot__part", "lot__supplier")
    fitted = entries.filter(kind=EntryKind.FITTED, taken_out_by__isnull=True).order_by("seq")
    credited = SupplierClaimStep.objects.filter(amount_minor__gt=0, claim__reference=job.number)
    claims: Any = Claim.objects.select_related("job__radio__model", "job__customer", "warranty__job")
    return Opened(
        profit=profit,
        papers=list(Invoice.objects.filter(job=job, currency=terms.currency).order_by("pk")),
        parts=[_costed(one) for one in fitted],
        scrapped=[_costed(one) for one in entries.filter(kind=EntryKind.TAKEN_OUT, scrapped=True).order_by("seq")],
        labour=list(standing_labour(job).order_by("worked_on", "pk")),
        forgone=list(Payment.objects.filter(invoice__job=job, kind__in=LET_GO).select_related("invoice").order_by("pk")),
        supplier=[(one, credited_by([one])) for one in credited.select_related("claim__supplier", "claim__lot__part")],
        borne=[(one, profit_of(one.job, terms)) for one in claims.filter(warranty__job=job).order_by("pk")],
        claim=claims.filter(job=job).first(),
    )


def _costed(entry: LogEntry) -> CostedPart:
    return CostedPart(entry, entry.count * entry.lot.unit_cost_milli if entry.lot else 0)
