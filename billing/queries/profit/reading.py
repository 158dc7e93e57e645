"""Sums by job, each in one query for all jobs or for the few that are asked for. Keys are those of jobs."""

from collections import Counter, defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import BigIntegerField, Count, F, Min, OuterRef, Q, QuerySet, Subquery, Sum

from billing.models import Invoice, InvoiceLine, LineKind, PaperKind, UncollectedSale
from billing.queries.accounts import account_of, with_account
from jobs.models import Claim, ClaimAnswer, ClaimDecision, EntryKind, LabourEntry, LogEntry

Keys = Collection[int] | None
COST = Sum(F("count") * F("lot__unit_cost_milli"), output_field=BigIntegerField())


@dataclass(frozen=True)
class Sold:
    """What was billed and credited, by job and whether it is parts."""

    billed: Counter[tuple[int, bool]] = field(default_factory=Counter)
    credited: Counter[tuple[int, bool]] = field(default_factory=Counter)


@dataclass(frozen=True, slots=True)
class Comeback:
    """A claim: the job it is worked on, and the one it came back from. `stands_alone`: it was decided that the customer pays."""

    pk: int
    job_pk: int
    number: str
    of_pk: int
    of_number: str
    stands_alone: bool
    is_goodwill: bool


def only(keys: Keys, path: str = "job") -> Q:
    return Q() if keys is None else Q(**{f"{path}__in": keys})


def sold(keys: Keys, currency: str) -> Sold:
    found = Sold()
    lines = InvoiceLine.objects.filter(only(keys, "invoice__job"), invoice__currency=currency).order_by()
    for job, paper, kind, minor in lines.values_list("invoice__job", "invoice__kind", "kind").annotate(Sum("net_minor")):
        sums = found.credited if paper == PaperKind.CREDIT_NOTE else found.billed
        sums[job, kind == LineKind.PART] += minor
    return found


def first_billed(keys: Keys) -> dict[int, date]:
    invoices = Invoice.objects.filter(only(keys), kind=PaperKind.INVOICE).order_by()
    return dict(invoices.values_list("job").annotate(Min("issued_on")))


def elsewhere(keys: Keys, currency: str) -> dict[int, int]:
    """Papers in another currency, which are in no sum."""
    papers = Invoice.objects.filter(only(keys)).exclude(currency=currency).order_by()
    return dict(papers.values_list("job").annotate(Count("pk")))


def parts_cost(keys: Keys) -> tuple[dict[int, int], dict[int, int]]:
    """What is in the set now, in thousandths; and of that what the customer didn't pay for."""
    fitted = LogEntry.objects.filter(only(keys), kind=EntryKind.FITTED, taken_out_by__isnull=True).order_by()
    cost: dict[int, int] = defaultdict(int)
    free: dict[int, int] = defaultdict(int)
    for job, charged, milli in fitted.values_list("job", "charged").annotate(milli=COST):
        cost[job] += milli
        free[job] += 0 if charged else milli
    return cost, free


def scrapped_cost(keys: Keys) -> dict[int, int]:
    out = LogEntry.objects.filter(only(keys), kind=EntryKind.TAKEN_OUT, scrapped=True).order_by()
    return dict(out.values_list("job").annotate(milli=COST))


def worked(keys: Keys) -> tuple[dict[int, int], dict[int, int]]:
    """Minutes that count, and of them those that the customer didn't pay for."""
    standing = LabourEntry.objects.filter(only(keys), corrected_by__isnull=True, withdrawn=False).order_by()
    minutes: dict[int, int] = defaultdict(int)
    free: dict[int, int] = defaultdict(int)
    for job, charged, sum_of in standing.values_list("job", "charged").annotate(Sum("minutes")):
        minutes[job] += sum_of
        free[job] += 0 if charged else sum_of
    return minutes, free


def let_go(keys: Keys, currency: str) -> tuple[dict[int, int], dict[int, int]]:
    """Waived, and written off as lost."""
    invoices: QuerySet[Any] = with_account(Invoice.objects.filter(only(keys), kind=PaperKind.INVOICE, currency=currency))
    waived: dict[int, int] = defaultdict(int)
    lost: dict[int, int] = defaultdict(int)
    for one in invoices.exclude(let_go=0):
        account = account_of(one)
        waived[one.job_id] += account.waived_minor
        lost[one.job_id] += account.lost_minor
    return waived, lost


def sale_losses(keys: Keys) -> dict[int, int]:
    """What the sale of an uncollected set cost beyond what it brought."""
    sales = UncollectedSale.objects.filter(only(keys), costs_minor__gt=F("price_minor"))
    return {job: costs - price for job, costs, price in sales.values_list("job", "costs_minor", "price_minor")}


def comebacks(keys: Keys) -> list[Comeback]:
    """Claims whose job is among them, or whose warranty is that of a job among them."""
    newest = ClaimDecision.objects.filter(claim=OuterRef("pk")).order_by("-pk")
    found = Claim.objects.filter(only(keys) | only(keys, "warranty__job")).annotate(
        decided=Subquery(newest.values("decided")[:1]), by_goodwill=Subquery(newest.values("goodwill")[:1])
    )
    rows = found.values_list(
        "pk", "job_id", "job__number", "warranty__job_id", "warranty__job__number", "decided", "by_goodwill"
    ).order_by("pk")
    return [
        Comeback(pk, job, number, of, of_number, decided == ClaimAnswer.CHARGEABLE and not goodwill, bool(goodwill))
        for pk, job, number, of, of_number, decided, goodwill in rows
    ]
