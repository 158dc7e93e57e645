"""Which card of ours an offer is: said by a person, never by itself, and kept when the next list comes."""

from collections.abc import Mapping

from django.db import transaction

from inventory.models import Offer, Part, Supplier
from shop.acts import Refused, Stale

MOST_AT_ONCE = 500


def _lock(supplier: int) -> None:
    """A list that is being taken in holds the supplier first and then its offers, in its own order; so does linking."""
    Supplier.objects.select_for_update(no_key=True).get(pk=supplier)


@transaction.atomic
def link_offer(offer: Offer, part: Part | None, *, seen: int | None) -> Offer:
    """Say that an offer is this card, or none; `seen` is the key of the card it was linked to when the person looked, or None."""
    _lock(offer.supplier_id)
    current = Offer.objects.select_for_update().get(pk=offer.pk)
    if current.part_id != seen:
        raise Stale("Somebody else linked this offer since you opened it. Look at its card now, then choose again.")
    current.part = part
    current.save(update_fields=["part"])
    return current


@transaction.atomic
def link_offers(supplier: Supplier, wanted: Mapping[int, int]) -> int:
    """Link offers without a card to cards, by their keys. Refused as a whole if one of them was linked to another meanwhile."""
    if not wanted:
        raise Refused("Nothing is ticked. Tick the cards that are the same goods.")
    if len(wanted) > MOST_AT_ONCE:
        raise Refused(f"Link up to {MOST_AT_ONCE} at a time.")
    _lock(supplier.pk)
    offers = Offer.objects.select_for_update().filter(supplier=supplier, pk__in=list(wanted)).order_by("pk")
    parts = Part.objects.in_bulk(list(set(wanted.values())))
    found = list(offers)
    if len(found) < len(wanted) or any(pk not in parts for pk in wanted.values()):
        raise Refused("One of these is no longer there. Load the page again.")
    for offer in found:
        if offer.part_id not in (None, wanted[offer.pk]):
            raise Stale(f"Somebody else linked {offer.code} meanwhile. Nothing was linked; look at it and send again.")
        offer.part = parts[wanted[offer.pk]]
    Offer.objects.bulk_update(found, ["part"])
    return len(found)
