"""The parts that a job's customer brought: what of them lies here unused, what went into the set, what went back."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Prefetch, Q, Sum

from inventory.models import Balance, Lot, MovementKind
from jobs.models import Job

FITS = (MovementKind.FITTED, MovementKind.TAKEN_OUT)


@dataclass(frozen=True, slots=True)
class OwnLot:
    """A lot of the customer's. `lying`: the drawers where some of it is; counts are pieces."""

    lot: Lot
    lying: Sequence[Balance]
    fitted: int
    given_back: int

    @property
    def on_hand(self) -> int:
        return sum(one.on_hand for one in self.lying)

    @property
    def went(self) -> str:
        counts = ((self.fitted, "fitted"), (self.given_back, "given back"))
        return ", ".join(f"{count} {what}" for count, what in counts if count)


def own_lots(job: Job) -> list[OwnLot]:
    """All that this customer ever brought, for whichever job; two queries."""
    there = Prefetch("balances", Balance.objects.filter(on_hand__gt=0).select_related("drawer"), to_attr="places")
    lots = Lot.objects.filter(owner=job.customer_id).select_related("part").prefetch_related(there).order_by("pk")
    counted = lots.annotate(
        fitted=Sum("movements__count", filter=Q(movements__kind__in=FITS), default=0),
        given=Sum("movements__count", filter=Q(movements__kind=MovementKind.SENT_BACK), default=0),
    )
    return [OwnLot(lot, lot.places, -lot.fitted, -lot.given) for lot in counted]  # type: ignore[attr-defined]


def unused_own_parts(job: Job) -> list[Balance]:
    """What lies here free and goes back with the set; what is held for a place is still to be fitted."""
    lying = Balance.objects.filter(lot__owner=job.customer_id, on_hand__gt=0).select_related("lot__part", "drawer")
    return [one for one in lying.order_by("pk") if one.free]
