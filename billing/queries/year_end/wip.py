"""Work in progress at the end of a day: jobs that were open then, as they stood by what had been written down by then.

Cost is parts in the set at what their lots cost, and hours at what an hour costs (IAS 2, paragraphs 10 and 12). What is taken is
the lower of cost and net realisable value (9, 28), job by job: no more than the sum that the customer had agreed to by then,
without tax (31: of a firm contract, its price). What finishing it would still have cost (6) nobody wrote down.
A job that stood on a bill is money owed, no work in progress.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import BigIntegerField, Exists, F, OuterRef, Q, Subquery, Sum

from billing.models import Invoice, PaperKind
from inventory.valuation import coins
from jobs.models import Consent, EntryKind, Job, JobAct, LabourEntry, LogEntry, Stage
from jobs.models.estimate import ConsentAnswer
from jobs.models.job import OPEN_STAGES
from jobs.queries.alternatives import lines_in
from jobs.queries.estimates import estimate_totals
from jobs.queries.tiers import agreed_tier
from shop.models import Profile
from shop.money import round_minor
from shop.tax_terms import labour_tax
from shop.totals import HUNDRED_PERCENT_BP

MINUTES = 60


@dataclass(frozen=True)
class OpenJob:
    """`stage` is where it stood then; `agreed_minor` the sum agreed to by then, without tax, 0 for nothing."""

    job: Job
    stage: str
    parts_milli: int
    minutes: int
    hour_cost_minor: int
    agreed_minor: int

    @property
    def parts_minor(self) -> int:
        return coins(self.parts_milli)

    @property
    def work_minor(self) -> int:
        return work_cost(self.minutes, self.hour_cost_minor)

    @property
    def cost_minor(self) -> int:
        return self.parts_minor + self.work_minor

    @property
    def taken_minor(self) -> int:
        return min(self.cost_minor, self.agreed_minor)


def work_cost(minutes: int, hour_cost_minor: int) -> int:
    return round_minor(Decimal(minutes * hour_cost_minor) / MINUTES)


def work_in_progress(day: date, end: datetime, terms: Profile, hour_cost_minor: int) -> list[OpenJob]:
    """Those with something in them, by their number. Eight queries."""
    jobs = _open_then(day, end)
    keys = [job.pk for job in jobs]
    parts, minutes, agreed = parts_milli(keys, end), worked_minutes(keys, end), _agreed(jobs, end, terms)
    found = [
        OpenJob(job, job.stood_at, parts.get(job.pk, 0), minutes.get(job.pk, 0), hour_cost_minor, agreed.get(job.pk, 0))
        for job in jobs
    ]
    return [one for one in found if one.parts_milli or one.minutes]


def _open_then(day: date, end: datetime) -> list[Any]:
    """Jobs at a stage of work, by the last act up to then, that stood on no bill."""
    last = JobAct.objects.filter(job=OuterRef("pk"), at__lt=end).order_by("-pk").values("to_stage")[:1]
    back = Invoice.objects.filter(credits=OuterRef("pk"), whole=True, issued_on__lte=day)
    bills = Invoice.objects.filter(job=OuterRef("pk"), kind=PaperKind.INVOICE, issued_on__lte=day).filter(~Exists(back))
    jobs: Any = Job.objects.filter(taken_in_at__lt=end).annotate(stood_at=Subquery(last), was_billed=Exists(bills))
    found = jobs.filter(stood_at__in=OPEN_STAGES, was_billed=False)
    return list(found.select_related("radio__model", "customer").order_by("number"))


def parts_milli(jobs: Collection[int] | None, end: datetime) -> dict[int, int]:
    """Cost of what was in the sets of these jobs, thousandths; None: of all."""
    in_it = Q(taken_out_by__isnull=True) | Q(taken_out_by__at__gte=end)
    fitted = LogEntry.objects.filter(in_it, _of(jobs), kind=EntryKind.FITTED, at__lt=end).order_by()
    cost = Sum(F("count") * F("lot__unit_cost_milli"), output_field=BigIntegerField())
    return dict(fitted.values_list("job").annotate(milli=cost))


def worked_minutes(jobs: Collection[int] | None, end: datetime) -> dict[int, int]:
    """Time that was written down by then, and not taken back by then."""
    stood = Q(corrected_by__isnull=True) | Q(corrected_by__at__gte=end)
    rows = LabourEntry.objects.filter(stood, _of(jobs), withdrawn=False, at__lt=end).order_by()
    return dict(rows.values_list("job").annotate(Sum("minutes")))


def _of(jobs: Collection[int] | None) -> Q:
    return Q() if jobs is None else Q(job__in=jobs)


def _agreed(jobs: Iterable[Any], end: datetime, terms: Profile) -> dict[int, int]:
    """The newest sum agreed to by then, without tax."""
    listed = {job.pk: job for job in jobs}
    consents = Consent.objects.filter(job__in=listed, answer=ConsentAnswer.AGREED, at__lt=end).order_by("pk")
    newest = {one.job_id: one for one in consents.select_related("estimate").prefetch_related(*AGREED_TO)}
    return {pk: _without_tax(consent, listed[pk], terms) for pk, consent in newest.items()}


AGREED_TO = ("estimate__lines", "estimate__alternatives")


def _without_tax(consent: Consent, job: Any, terms: Profile) -> int:
    """Of an estimate by its own lines. A sum agreed to at the counter by today's tax on work, less the fee for declining where
    the estimate wasn't declined."""
    if consent.estimate is not None:
        lines = lines_in(consent.estimate.lines.all(), agreed_tier(consent, consent.estimate))  # type: ignore[attr-defined]
        return estimate_totals(consent.estimate, lines)[1].net_minor
    due = consent.ceiling_minor - (0 if job.stood_at == Stage.DECLINED else job.decline_fee_minor)
    gross = Decimal(max(due, 0) * HUNDRED_PERCENT_BP)
    return round_minor(gross / (HUNDRED_PERCENT_BP + int(labour_tax(terms).rate_bp)))
