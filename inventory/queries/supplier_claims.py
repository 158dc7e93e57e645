"""Claims on suppliers as they stand: folds over their steps; until when a supplier stands by a lot; what may still be claimed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from django.db.models import (
    BigIntegerField,
    Case,
    ExpressionWrapper,
    F,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from inventory.models import Lot, Movement, MovementKind, SupplierClaim, SupplierClaimKind, SupplierClaimStep
from inventory.valuation import coins

ASKED, SENT_BACK, CREDITED = SupplierClaimKind.ASKED, SupplierClaimKind.SENT_BACK, SupplierClaimKind.CREDITED
REPLACED, REFUSED, DROPPED = SupplierClaimKind.REPLACED, SupplierClaimKind.REFUSED, SupplierClaimKind.DROPPED
# What a lot was given, before anything was fitted, counted or scrapped.
CAME = (MovementKind.RECEIVED, MovementKind.SPLIT_IN, MovementKind.SPLIT_OUT)
WITHOUT_ANSWER = (ASKED, SENT_BACK)
GIVEN_UP = (REFUSED, DROPPED)
# From here on a page says it loudly: common practice, no source.
SOON_DAYS = 30
MARKS = {ASKED: "wait", SENT_BACK: "wait", CREDITED: "yes", REPLACED: "yes", REFUSED: "no", DROPPED: "note"}


@dataclass(frozen=True, slots=True)
class SupplierCover:
    """Until when a supplier stands by a lot, on a day. `until_on` is None where nothing is written down."""

    until_on: date | None
    day: date

    @property
    def days_left(self) -> int | None:
        """Negative once it is over."""
        return (self.until_on - self.day).days if self.until_on else None

    @property
    def is_over(self) -> bool:
        return self.until_on is not None and self.until_on < self.day

    @property
    def mark(self) -> str:
        left = self.days_left
        if left is None:
            return "note"
        return "no" if left < 0 else "warn" if left <= SOON_DAYS else "open"

    @property
    def words(self) -> str:
        left = self.days_left
        if left is None:
            return "nothing written down"
        if left < 0:
            return f"over for {-left} {'day' if left == -1 else 'days'}"
        return "today is the last day" if left == 0 else f"{left} {'day' if left == 1 else 'days'} left"


def cover_of(lot: Lot, day: date) -> SupplierCover:
    """The later of the day until which parts can go back and the last day on which the supplier stands by a part that fails."""
    days = lot.supplier.warranty_days if lot.supplier else None
    ends = [lot.return_until_on, lot.received_on + timedelta(days=days) if days else None]
    return SupplierCover(max((end for end in ends if end), default=None), day)


@dataclass(frozen=True)
class ClaimStanding:
    """One claim with its steps, the oldest first. Sums in the smallest coin of the shop's money."""

    claim: SupplierClaim
    steps: Sequence[SupplierClaimStep]

    @property
    def last(self) -> SupplierClaimStep:
        return self.steps[-1]

    @property
    def is_open(self) -> bool:
        return self.last.kind in WITHOUT_ANSWER

    @property
    def mark(self) -> str:
        return MARKS[SupplierClaimKind(self.last.kind)]

    @cached_property
    def credited_minor(self) -> int:
        return credited_by(self.steps)

    @property
    def cost_minor(self) -> int:
        return coins(self.claim.cost_milli)

    @property
    def open_minor(self) -> int:
        """What they cost and nobody has given back yet; 0 once there is an answer."""
        return max(self.cost_minor - self.credited_minor, 0) if self.is_open else 0

    @property
    def may_be_credited(self) -> bool:
        """More money may come after some has; not after a no."""
        return self.last.kind not in (*GIVEN_UP, REPLACED)


def credited_by(steps: Iterable[SupplierClaimStep]) -> int:
    """Money that came back. Asking again for a sum takes that much of it away: it was written down and didn't come."""
    signs = {CREDITED: 1, ASKED: -1}
    return sum(signs.get(SupplierClaimKind(step.kind), 0) * step.amount_minor for step in steps)


def standing_of(claim: SupplierClaim) -> ClaimStanding:
    return ClaimStanding(claim, list(claim.steps.select_related("person").order_by("pk")))  # type: ignore[attr-defined]


def listed_claims() -> "QuerySet[SupplierClaim]":
    """Adds `state` (kind of the last step), `last_on`, `credited` (minor units) and `is_open`; what is open first."""
    steps = SupplierClaimStep.objects.filter(claim=OuterRef("pk")).order_by("-pk")
    claims = SupplierClaim.objects.select_related("supplier", "lot__part").annotate(
        state=Subquery(steps.values("kind")[:1]), last_on=Subquery(steps.values("on")[:1]), credited=_credited()
    )
    first = Case(When(state__in=WITHOUT_ANSWER, then=Value(0)), default=Value(1), output_field=IntegerField())
    return claims.order_by(first, "-pk")


def _credited() -> Coalesce:
    whole = BigIntegerField()
    taken_back = ExpressionWrapper(F("amount_minor") * Value(-1), output_field=whole)
    signed = Case(
        When(kind=CREDITED, then=F("amount_minor")), When(kind=ASKED, then=taken_back), default=Value(0), output_field=whole
    )
    steps = SupplierClaimStep.objects.filter(claim=OuterRef("pk")).order_by().values("claim")
    return Coalesce(Subquery(steps.annotate(sum=Sum(signed)).values("sum"), output_field=whole), 0, output_field=whole)


@dataclass(frozen=True, slots=True)
class ClaimSums:
    """Of a list of claims: what the parts of open ones cost less what came, and what suppliers have given back."""

    open_minor: int
    credited_minor: int


def sums_of(claims: "QuerySet[SupplierClaim]") -> ClaimSums:
    rows = claims.order_by().values_list("state", "cost_milli", "credited")  # type: ignore[misc]
    opened = sum(max(coins(cost) - credited, 0) for state, cost, credited in rows if state in WITHOUT_ANSWER)
    return ClaimSums(opened, sum(credited for _, _, credited in rows))


def claims_on(lots: Iterable[Lot]) -> "QuerySet[SupplierClaim]":
    return listed_claims().filter(lot__in=list(lots))


def came_count(lot: Lot) -> int:
    """How many a lot was given: those that came in, less those that were set apart."""
    moved = Movement.objects.filter(lot=lot, kind__in=CAME).aggregate(sum=Sum("count"))
    return int(moved["sum"] or 0)


def claimed_count(lot: Lot) -> int:
    """In claims that stand: what was refused or not followed up can be claimed again."""
    claims = listed_claims().filter(lot=lot).exclude(state__in=GIVEN_UP)  # type: ignore[misc]
    return sum(claims.values_list("count", flat=True))


def claimable_count(lot: Lot) -> int:
    return max(came_count(lot) - claimed_count(lot), 0)


def credited_minor_of(job_number: str) -> int:
    """What suppliers gave back for parts that failed in this job, in the smallest coin of the shop's money."""
    return credited_minor_of_jobs([job_number]).get(job_number, 0)


def credited_minor_of_jobs(job_numbers: Iterable[str]) -> dict[str, int]:
    """The same for many jobs, by number, in one query; jobs without a credit are left out."""
    steps = SupplierClaimStep.objects.filter(Q(kind=CREDITED) | Q(kind=ASKED, amount_minor__gt=0))
    found: dict[str, int] = {}
    for number, kind, amount in steps.filter(claim__reference__in=list(job_numbers)).values_list(
        "claim__reference", "kind", "amount_minor"
    ):
        found[number] = found.get(number, 0) + (amount if kind == CREDITED else -amount)
    return found
