"""Writes the orders of a basket, as it was seen: what was ordered or changed since is told, and nothing is written."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from inventory.models import Offer, Order, OrderLine, OrderState, Part
from inventory.queries.on_order import ordered_so_far
from inventory.services.orders import OrderDraftLine, draft_order, shop_currency
from shop.acts import Refused, Stale
from shop.forms.seen import seen_of
from shop.models import Staff
from shop.money import plain


@dataclass(frozen=True, slots=True)
class BoughtLine:
    """A line as it stood on the page: so many of an offer, at this price of one in thousandths of their smallest coin."""

    offer_pk: int
    count: int
    unit_milli: int
    for_what: str = ""
    needed_on: date | None = None
    expected_on: date | None = None


def orders_seen(parts: Collection[int]) -> int:
    """A number that changes with every order that is written for one of these parts, given by their keys."""
    so_far = ordered_so_far(parts)
    return seen_of(sorted((part, so_far.get(part, 0)) for part in parts))


@transaction.atomic
def write_orders(lines: Sequence[BoughtLine], wanted: Collection[int], *, seen: int, person: Staff, at: datetime) -> list[Order]:
    """One order a supplier, to be looked over and sent. `wanted`: keys of the parts that are still on the list; `seen`: the
    `orders_seen` of the parts in these lines."""
    if not lines:
        raise Refused("There is nothing in this basket. Tick what is to be bought on the list.")
    keys = [line.offer_pk for line in lines]
    parts = {part for part in Offer.objects.filter(pk__in=keys).values_list("part_id", flat=True) if part}
    # Two baskets for the same parts are written one after the other, so that the second sees the first one's orders.
    list(Part.objects.select_for_update().filter(pk__in=parts).order_by("pk"))
    offers = Offer.objects.select_related("supplier", "part").in_bulk(keys)
    for line in lines:
        _check_as_seen(offers.get(line.offer_pk), line)
    if orders_seen(parts) != seen:
        raise Stale(f"{_newest(parts)} Nothing was ordered from here. Look at what is still to be bought, then send again.")
    if parts - set(wanted):
        raise Stale("Something in this basket is no longer on the list. Nothing was ordered; the basket below is reckoned anew.")
    by_supplier: dict[int, list[BoughtLine]] = {}
    for line in lines:
        by_supplier.setdefault(offers[line.offer_pk].supplier_id, []).append(line)
    return [
        draft_order(offers[own[0].offer_pk].supplier, [_draft(offers[one.offer_pk], one) for one in own], person=person, at=at)
        for own in by_supplier.values()
    ]


def _newest(parts: Collection[int]) -> str:
    line = OrderLine.objects.filter(part__in=parts).exclude(order__state=OrderState.DROPPED).order_by("-pk")
    last = line.select_related("order__made_by", "order__supplier", "part").first()
    if last is None:
        return "An order with one of these parts was dropped since you opened this page."
    name = last.order.number or f"an order to {last.order.supplier}"
    return (
        f"Orders changed since you opened this page: the newest is {name}, {last.count} of {last.part}, by {last.order.made_by}."
    )


def _check_as_seen(offer: Offer | None, line: BoughtLine) -> None:
    if offer is None or offer.part is None:
        raise Stale(
            "An offer in this basket is no longer tied to one of your parts. The basket below is reckoned anew without it."
        )
    name = f"{offer.code} of {offer.supplier} ({offer.part})"
    if not offer.is_offered or not offer.supplier.in_use or not offer.breaks:
        raise Stale(f"{name} is no longer offered. Nothing was ordered; the basket below is reckoned anew without it.")
    if offer.currency != (offer.supplier.currency or shop_currency()):
        raise Stale(f"{name} is priced in another money than the supplier's card says now. Nothing was ordered.")
    if offer.unit_milli_at(line.count) != line.unit_milli:
        now = f"{plain(offer.unit_milli_at(line.count) // 1000, offer.currency)} {offer.currency}"
        raise Stale(
            f"The price of {name} changed: about {now} each now. Nothing was ordered; the basket below has today's prices."
        )
    if line.count % offer.pack_size or line.count < offer.least_count:
        raise Stale(f"{name} is sold in other packs now. Nothing was ordered; the basket below is reckoned anew.")


def _draft(offer: Offer, line: BoughtLine) -> OrderDraftLine:
    assert offer.part is not None
    return OrderDraftLine(
        part=offer.part,
        offer=offer,
        code=offer.code,
        text=offer.text,
        count=line.count,
        pack_size=offer.pack_size,
        unit_milli=line.unit_milli,
        for_what=line.for_what,
        needed_on=line.needed_on,
        expected_on=line.expected_on,
    )
