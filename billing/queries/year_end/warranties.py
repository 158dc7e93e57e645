"""Warranties that ran at the end of a day, and what claims had cost by then: what the reserve is reckoned from.

A provision for many small duties is their expected value (IAS 37, paragraphs 36 to 40; 39 names guarantees of a seller).
"""

from collections import defaultdict
from datetime import date, datetime

from django.db.models import Count, Max, OuterRef, Q, Subquery, Sum

from billing.models import Invoice, PaperKind
from billing.queries.year_end.wip import parts_milli, work_cost, worked_minutes
from inventory.valuation import coins
from jobs.forecast.reserve import ClaimHistory, OpenWarranty, Reserve, reserve
from jobs.models import Claim, ClaimAnswer, ClaimDecision, HandOver, Warranty


def reserve_on(day: date, end: datetime, currency: str, hour_cost_minor: int) -> Reserve:
    """Six queries."""
    given = Warranty.objects.filter(job__in=HandOver.objects.filter(at__lt=end).values("job"), starts_on__lte=day)
    covered = Q(lines__covered=True)
    rows = list(
        given.annotate(last=Max("lines__until_on", filter=covered), n=Count("pk")).values_list("job", "starts_on", "last")
    )
    running = {job: (starts, last) for job, starts, last in rows if last is not None and last >= day}
    worth = _net(list(running), day, currency)
    opened = [
        OpenWarranty((day - starts).days, (last - day).days, max(worth.get(job, 0), 0)) for job, (starts, last) in running.items()
    ]
    ran = sum((min(day, last) - starts).days for _, starts, last in rows if last is not None)
    costs, count = _claim_costs(day, end, currency, hour_cost_minor)
    return reserve(opened, ClaimHistory(len(rows), max(ran, 0), count, costs))


def _net(jobs: list[int], day: date, currency: str) -> dict[int, int]:
    """Billed less credited by then, by job."""
    papers = Invoice.objects.filter(job__in=jobs, issued_on__lte=day, currency=currency).order_by()
    found: dict[int, int] = defaultdict(int)
    for job, kind, minor in papers.values_list("job", "kind").annotate(Sum("net_minor")):
        found[job] += -minor if kind == PaperKind.CREDIT_NOTE else minor
    return found


def _claim_costs(day: date, end: datetime, currency: str, hour_cost_minor: int) -> tuple[tuple[int, ...], int]:
    """What each claim that the shop bore had cost, less what was billed for it; and how many there were, open ones too."""
    newest = ClaimDecision.objects.filter(claim=OuterRef("pk"), at__lt=end).order_by("-pk")
    claims = Claim.objects.filter(at__lt=end).annotate(
        decided=Subquery(newest.values("decided")[:1]), by_goodwill=Subquery(newest.values("goodwill")[:1])
    )
    rows = claims.values_list("job", "decided", "by_goodwill")
    jobs = [job for job, decided, goodwill in rows if decided != ClaimAnswer.CHARGEABLE or goodwill]
    parts, minutes, net = parts_milli(jobs, end), worked_minutes(jobs, end), _net(jobs, day, currency)
    costs = [
        coins(parts.get(job, 0)) + work_cost(minutes.get(job, 0), hour_cost_minor) - net.get(job, 0)
        for job in jobs
        if job in parts or job in minutes
    ]
    return tuple(cost for cost in costs if cost > 0), len(jobs)
