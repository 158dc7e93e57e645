"""Who holds what the shop promised, after sets changed hands."""

from collections.abc import Iterable
from datetime import date

from jobs.models import RadioSet, Warranty, WarrantyTransfer
from shop.models import Customer


def holder_of(warranty: Warranty, transfers: Iterable[WarrantyTransfer]) -> Customer:
    """Who was last promised it: the customer of the job, or whom it went along to. `transfers` in their order."""
    holder = warranty.job.customer
    for one in transfers:
        holder = one.to_customer if one.goes_along else holder
    return holder


def running_warranties(radio: RadioSet, day: date) -> list[Warranty]:
    """The warranties of a set of which a line is still covered on that day, with their transfers; two queries."""
    running = Warranty.objects.filter(job__radio=radio, lines__covered=True, lines__until_on__gte=day).distinct()
    return list(
        running.select_related("job__customer")
        .prefetch_related("transfers_made__to_customer", "transfers_made__from_customer")
        .order_by("pk")
    )


def is_held(warranty: Warranty) -> bool:
    """Whether whoever has the set now is who was promised it."""
    return holder_of(warranty, warranty.transfers_made.all()).pk == warranty.job.radio.customer_id  # type: ignore[attr-defined]
