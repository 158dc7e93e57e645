"""All sets that came back: how each stands, and why they came back, counted."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, OuterRef, Prefetch, QuerySet, Subquery

from jobs.models import Cause, Claim, ClaimDecision, ClaimFinding
from jobs.models.job import OPEN_STAGES


def standing_rows() -> "QuerySet[ClaimFinding]":
    """Findings that count: neither taken back nor replaced by a later one."""
    return ClaimFinding.objects.filter(corrected_by__isnull=True, withdrawn=False)


def listed_claims() -> "QuerySet[Claim]":
    """Claims that are still ones, each with `decided` and `goodwill` of its newest decision (None before), and its `counted`."""
    newest = ClaimDecision.objects.filter(claim=OuterRef("pk")).order_by("-pk")
    claims = Claim.objects.filter(job__warranty_of__isnull=False).annotate(
        decided=Subquery(newest.values("decided")[:1]), goodwill=Subquery(newest.values("goodwill")[:1])
    )
    heads = claims.select_related("job__radio__model", "job__customer", "warranty__job")
    return heads.prefetch_related(Prefetch("findings", standing_rows().order_by("pk"), to_attr="counted")).order_by("-pk")


def undecided() -> "QuerySet[Claim]":
    """On jobs that are still here, the one that waits longest first."""
    return listed_claims().filter(decisions=None, job__stage__in=OPEN_STAGES).order_by("claimed_on", "pk")


def causes_of(claim: Claim) -> str:
    """The causes of a listed claim's findings, each once."""
    labels = [Cause(one.cause).label for one in claim.counted]  # type: ignore[attr-defined]
    return "; ".join(dict.fromkeys(labels))


def days_after(claim: Claim) -> int:
    """Days from the day the warranty began to the day it was claimed."""
    return (claim.claimed_on - claim.warranty.starts_on).days


@dataclass(frozen=True, slots=True)
class CauseCount:
    """Of all findings, those with this cause."""

    label: str
    count: int
    percent: int


def cause_counts(claims: "QuerySet[Claim]") -> Sequence[CauseCount]:
    """The causes found on these claims, the most frequent first. One query."""
    rows = standing_rows().filter(claim__in=claims.order_by().values("pk")).order_by()
    counted = dict(rows.values_list("cause").annotate(count=Count("pk")))
    total = sum(counted.values())
    causes = [CauseCount(one.label, counted[one], round(100 * counted[one] / total)) for one in Cause if one in counted]
    return sorted(causes, key=lambda one: -one.count)


def waited(claim: Claim, today: date) -> int:
    """Days since it was claimed."""
    return (today - claim.claimed_on).days
