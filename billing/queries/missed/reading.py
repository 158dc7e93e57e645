"""Which jobs can be compared, and all that is needed for it, whatever their number."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from django.db.models import Prefetch, Sum

from billing.models import Invoice, InvoiceLine, PaperKind
from billing.queries.bills import not_taken_back
from billing.queries.missed.figures import Missed, MissedJob
from billing.queries.missed.sides import Sides
from billing.queries.newest import between
from jobs.models import Consent, Estimate, Job
from jobs.models.estimate import ConsentAnswer, EstimateLine
from jobs.queries.alternatives import lines_in
from jobs.queries.tiers import agreed_tier

_OF_A_LINE = (
    *("kind", "amount_minor", "charged", "not_charged_reason", "designator", "text"),
    *("entry__unit_price_minor", "entry__count", "entry__position__role", "entry__position__designator"),
    *("labour__step", "labour__charged_minutes", "labour__flat_minor", "labour__amount_minor", "labour__task__name"),
)
_QUOTED = ("estimate", "kind", "text", "minutes", "high_minor", "tier", "position__designator", "position__role", "task__name")
UNDER_WARRANTY, ANOTHER_WAY = "work under warranty, quoted at nothing", "quoted with tax and billed without it, or the other way"
IN_OTHER_MONEY, NO_ESTIMATE = "quoted and billed in different money", "no estimate was agreed to"


def missed(currency: str, first: date | None = None, last: date | None = None) -> Missed:
    """Jobs billed in the shop's currency, by the day of the bill; both days count. Eight queries."""
    bills = _bills(first, last)
    jobs = Job.objects.filter(pk__in=bills).select_related("radio__model", "customer")
    agreed = _first_agreed(bills)
    credited = _credited(bills)
    kept: list[MissedJob] = []
    why: Counter[str] = Counter()
    for job in jobs:
        told = _told(job, agreed.get(job.pk), bills[job.pk], credited, currency)
        if isinstance(told, str):
            why[told] += 1
        else:
            kept.append(told)
    kept.sort(key=lambda one: (one.billed_on, one.job.pk), reverse=True)
    return Missed(kept, why.most_common())


def _bills(first: date | None, last: date | None) -> dict[int, list[InvoiceLine]]:
    """Lines of bills that stand, by job."""
    lines = between(
        not_taken_back(InvoiceLine.objects.filter(invoice__kind=PaperKind.INVOICE)), first, last, "invoice__issued_on"
    )
    # Only the columns that are compared: hundreds of bills have thousands of lines. Put in order here, as a planner that is asked
    # for them by their keys walks through the lines of all years.
    read = lines.select_related("entry__position", "labour__task").only("invoice", *_OF_A_LINE).order_by()
    listed = sorted(read, key=lambda line: line.pk)
    bills = between(Invoice.objects.filter(kind=PaperKind.INVOICE), first, last)
    by_key = {bill.pk: bill for bill in bills.order_by().only("job", "currency", "prices_include_tax", "issued_on")}
    found: dict[int, list[InvoiceLine]] = defaultdict(list)
    for line in listed:
        line.invoice = by_key[line.invoice_id]
        found[line.invoice.job_id].append(line)
    return found


def _credited(bills: Mapping[int, Sequence[InvoiceLine]]) -> dict[int, int]:
    """What notes in part took of each line."""
    notes = InvoiceLine.objects.filter(credits_line__isnull=False, invoice__whole=False, invoice__job__in=bills).order_by()
    return dict(notes.values_list("credits_line").annotate(Sum("amount_minor")))


def _first_agreed(jobs: Iterable[int]) -> dict[int, Consent]:
    lines = Prefetch("estimate__lines", EstimateLine.objects.select_related("position", "task").only(*_QUOTED))
    newer = Prefetch("job__estimates", Estimate.objects.exclude(because="").exclude(sent_at=None).order_by("number"))
    consents = Consent.objects.filter(job__in=jobs, answer=ConsentAnswer.AGREED, estimate__isnull=False)
    read = consents.select_related("estimate", "job").prefetch_related(lines, "estimate__alternatives", newer)
    return {one.job_id: one for one in read.order_by("-pk")}


def _told(
    job: Job, consent: Consent | None, lines: Sequence[InvoiceLine], credited: Mapping[int, int], currency: str
) -> MissedJob | str:
    """The job's figures, or why it can't be compared."""
    if job.warranty_of_id:
        return UNDER_WARRANTY
    if consent is None or consent.estimate is None:
        return NO_ESTIMATE
    bill, estimate = lines[0].invoice, consent.estimate
    if bill.currency != currency or estimate.currency != currency:
        return IN_OTHER_MONEY
    if bill.prices_include_tax != estimate.prices_include_tax:
        return ANOTHER_WAY
    agreed = lines_in(estimate.lines.all(), agreed_tier(consent, estimate))  # type: ignore[attr-defined]
    sides = Sides(agreed, lines, credited)
    newer: Any = consent.job.estimates.all()  # type: ignore[attr-defined]
    because = tuple(one.because for one in newer if one.number > estimate.number)
    return MissedJob(job, currency, bill.issued_on, sides.agreed, sides.billed, tuple(sides.misses()), because)
