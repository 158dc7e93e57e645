"""What of the stock belongs to a customer: parts they brought themselves."""

from collections.abc import Iterable

from django.db.models import QuerySet, Sum

from inventory.models import Lot


def own_parts(customers: Iterable[int] | None = None) -> "QuerySet[Lot]":
    """Lots that customers own, with how many lie in drawers (`lying`)."""
    owned = Lot.objects.filter(owner__isnull=False) if customers is None else Lot.objects.filter(owner__in=list(customers))
    # By their keys: nearly every lot is the shop's own, and a planner would walk them all.
    lots = Lot.objects.filter(pk__in=owned.order_by().values("pk"))
    return lots.annotate(lying=Sum("balances__on_hand")).select_related("part").order_by("pk")


def parts_lying(customers: Iterable[int] | None = None) -> dict[int, int]:
    """By customer, how many parts of theirs lie in our drawers."""
    found: dict[int, int] = {}
    for lot in own_parts(customers):
        lying = lot.lying or 0  # type: ignore[attr-defined]
        if lot.owner_id and lying:
            found[lot.owner_id] = found.get(lot.owner_id, 0) + lying
    return found


def parts_held(customer: int) -> list[dict[str, object]]:
    """As plain data for a copy: what they brought, and how many of it lie here still."""
    return [
        {
            "part": lot.part.title,
            "brought_on": lot.received_on.isoformat(),
            "note": lot.note,
            "lying_here": lot.lying or 0,  # type: ignore[attr-defined]
        }
        for lot in own_parts([customer])
    ]
