"""Where a lot came from, where it lies and where it went."""

from dataclasses import dataclass

from django.db.models import Prefetch, QuerySet, Sum

from inventory.models import Balance, Lot, Movement, MovementKind

OF_CUSTOMERS: dict[str, str] = {
    MovementKind.RECEIVED: "Brought by the customer",
    MovementKind.SENT_BACK: "Given back to the customer",
}


@dataclass(frozen=True, slots=True)
class WentInto:
    """Parts of one lot that are in the set of one job now. `reference` is the job's number."""

    reference: str
    count: int


def lying(lot: Lot) -> "QuerySet[Balance]":
    return lot.balances.filter(on_hand__gt=0).select_related("drawer")  # type: ignore[attr-defined, no-any-return]


def went_into(lot: Lot) -> list[WentInto]:
    """Fitted less taken out again, a line a job."""
    moved = lot.movements.filter(kind__in=(MovementKind.FITTED, MovementKind.TAKEN_OUT))  # type: ignore[attr-defined]
    sums = moved.order_by().values("reference").annotate(sum=Sum("count")).filter(sum__lt=0).order_by("reference")
    return [WentInto(row["reference"], -row["sum"]) for row in sums]


def received_count(lot: Lot) -> int:
    came = lot.movements.filter(kind=MovementKind.RECEIVED)  # type: ignore[attr-defined]
    return int(came.aggregate(sum=Sum("count"))["sum"] or 0)


def listed_lots() -> "QuerySet[Lot]":
    """Adds `lying`: the balances that hold something, with their drawers."""
    lying = Prefetch("balances", Balance.objects.filter(on_hand__gt=0).select_related("drawer"), to_attr="lying")
    return Lot.objects.select_related("part", "supplier", "owner").prefetch_related(lying)


def how_it_moved(move: Movement) -> str:
    """The kind of a movement in words. What a customer brought doesn't come from a supplier and doesn't go back to one."""
    if move.lot.owner_id is None or move.kind not in OF_CUSTOMERS:
        return move.get_kind_display()
    return OF_CUSTOMERS[move.kind] if move.count < 0 or move.kind == MovementKind.RECEIVED else "Not given back after all"


def ledger() -> "QuerySet[Movement]":
    """All movements, the newest first, with what a line of the ledger shows."""
    return Movement.objects.select_related("lot__part", "drawer", "person").order_by("-pk")
