"""Orders while they are being written: lines come, change and go, and the carriage follows the supplier's terms."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from inventory.models import Offer, Order, OrderLine, OrderState, Part, Supplier
from inventory.queries.exchange import amount_minor, carriage_by_terms, rate_of
from inventory.services.ledger import MOST_AT_ONCE
from shop.acts import Refused, Stale
from shop.models import Profile, Staff
from shop.money import LARGEST_MINOR


@dataclass(frozen=True, slots=True)
class OrderDraftLine:
    """One line to order: `count` pieces at `unit_milli` each, thousandths of the smallest coin of the supplier's currency.

    `for_what` are the jobs that wait for it, as text; `needed_on` is the day by which. Without `text` the offer's words or the
    part's title are written.
    """

    part: Part
    offer: Offer | None = None
    code: str = ""
    text: str = ""
    count: int = 1
    pack_size: int = 1
    unit_milli: int = 0
    for_what: str = ""
    needed_on: date | None = None
    expected_on: date | None = None


@transaction.atomic
def draft_order(supplier: Supplier, lines: Sequence[OrderDraftLine], *, person: Staff, at: datetime) -> Order:
    """A new order to write on: currency, rate and carriage as the supplier's card has them now."""
    card = Supplier.objects.get(pk=supplier.pk)
    if not card.in_use:
        raise Refused(f"{card} is marked as one we don't buy from. Change that on its card first.", code="not_in_use")
    ours = shop_currency()
    order = Order.objects.create(
        supplier=card, currency=card.currency or ours, exchange_ppm=rate_of(card, ours), made_at=at, made_by=person
    )
    for line in lines:
        _check(order, line)
        OrderLine.objects.create(order=order, **_values(line))
    order.carriage_minor = carriage_by_terms(card, goods_minor(order))
    order.save(update_fields=["carriage_minor"])
    return order


def shop_currency() -> str:
    return (Profile.current() or Profile()).currency


def goods_minor(order: Order) -> int:
    lines = OrderLine.objects.filter(order=order).values_list("count", "unit_milli")
    return sum(amount_minor(count, unit) for count, unit in lines)


def lock_order(order: Order) -> Order:
    """The order's row, locked: whoever changes, sends or receives on it waits here for the one before."""
    return Order.objects.select_for_update(of=("self",)).select_related("supplier").get(pk=order.pk)


def lock_draft(order: Order, seen: int | None) -> Order:
    current = lock_order(order)
    if not current.is_draft:
        raise Refused(f"{current} is {current.get_state_display().lower()}: what was ordered stands as it is.", code="not_draft")
    if seen is not None and current.version != seen:
        raise Stale("Somebody else changed this order since you opened it. Compare, then send again.")
    return current


def _check(order: Order, line: OrderDraftLine) -> None:
    if not 1 <= line.count <= MOST_AT_ONCE:
        raise Refused(f"The count of {_name(line)} must be from 1 to {MOST_AT_ONCE:,}.", field="count", code="count")
    if line.unit_milli < 0 or line.count * line.unit_milli > LARGEST_MINOR * 1000:
        raise Refused(f"The price of {_name(line)} can't be booked. Check it for a slip of the finger.", field="unit")
    _check_offer(order, line)
    if line.count % max(line.pack_size, 1):
        raise Refused(
            f"{_name(line)} comes in packs of {line.pack_size}. Order {_up_to(line.count, line.pack_size)}, or fewer packs.",
            field="count",
            code="pack",
        )


def _check_offer(order: Order, line: OrderDraftLine) -> None:
    offer = line.offer
    if offer is None:
        return
    if offer.supplier_id != order.supplier_id:
        raise Refused(f"{_name(line)} is an offer of another supplier. Write it on an order to them.", field="offer")
    if offer.currency != order.currency:
        raise Refused(
            f"{_name(line)} is offered in {offer.currency} and this order is in {order.currency}. "
            "Take in their newest price list, or type the line with its price.",
            field="offer",
            code="currency",
        )
    if line.count < offer.least_count:
        raise Refused(f"They sell at least {offer.least_count} of {_name(line)}.", field="count", code="least")


def _name(line: OrderDraftLine) -> str:
    return line.text or line.part.title


def _up_to(count: int, pack: int) -> int:
    return -(-count // pack) * pack


def _values(line: OrderDraftLine) -> dict[str, object]:
    offer = line.offer
    return {
        "part": line.part,
        "offer": offer,
        "code": line.code or (offer.code if offer else ""),
        "text": (line.text or (offer.text if offer else "") or line.part.title)[:200],
        "count": line.count,
        "pack_size": max(line.pack_size, 1),
        "unit_milli": line.unit_milli,
        "for_what": line.for_what[:200],
        "needed_on": line.needed_on,
        "expected_on": line.expected_on,
    }


def _follow(order: Order, goods_before: int) -> None:
    """Carriage goes on following the terms where it did; a sum that was typed stays."""
    if order.carriage_minor == carriage_by_terms(order.supplier, goods_before):
        order.carriage_minor = carriage_by_terms(order.supplier, goods_minor(order))
    order.version += 1
    order.save(update_fields=["carriage_minor", "version"])


@transaction.atomic
def add_line(order: Order, line: OrderDraftLine, *, seen: int | None = None) -> OrderLine:
    current = lock_draft(order, seen)
    _check(current, line)
    before = goods_minor(current)
    added = OrderLine.objects.create(order=current, **_values(line))
    _follow(current, before)
    return added


@transaction.atomic
def change_line(line: OrderLine, to: OrderDraftLine, *, seen: int) -> OrderLine:
    """The line as `to` says. The price is `to`'s: who changes the count gets the offer's price of that count from the caller."""
    current = lock_draft(line.order, seen)
    kept = _line_of(current, line)
    _check(current, to)
    before = goods_minor(current)
    for name, value in _values(to).items():
        setattr(kept, name, value)
    kept.save()
    _follow(current, before)
    return kept


@transaction.atomic
def remove_line(line: OrderLine, *, seen: int | None = None) -> OrderDraftLine:
    """Take a line off; what comes back can be added again as it was."""
    current = lock_draft(line.order, seen)
    kept = _line_of(current, line)
    before = goods_minor(current)
    kept.delete()
    _follow(current, before)
    return as_draft_line(line)


def _line_of(order: Order, line: OrderLine) -> OrderLine:
    found = OrderLine.objects.filter(order=order, pk=line.pk).first()
    if found is None:
        raise Stale("Somebody else took this line off the order. Load the order again to see what is on it.")
    return found


def as_draft_line(line: OrderLine) -> OrderDraftLine:
    names = ("part", "offer", "code", "text", "count", "pack_size", "unit_milli", "for_what", "needed_on", "expected_on")
    return OrderDraftLine(**{name: getattr(line, name) for name in names})


@transaction.atomic
def change_head(order: Order, *, note: str, carriage_minor: int, seen: int) -> Order:
    """What stands on the order beside its lines."""
    current = lock_draft(order, seen)
    if not 0 <= carriage_minor <= LARGEST_MINOR:
        raise Refused("The carriage can't be booked. Check it for a slip of the finger.", field="carriage")
    current.note, current.carriage_minor = note.strip(), carriage_minor
    current.version += 1
    current.save(update_fields=["note", "carriage_minor", "version"])
    return current


@transaction.atomic
def drop_draft(order: Order, *, at: datetime, seen: int | None = None) -> Order:
    """A draft that won't be sent. It never had a number, so none is missing; what was written on it can still be read."""
    current = lock_draft(order, seen)
    current.state, current.closed_at = OrderState.DROPPED, at
    current.version += 1
    current.save(update_fields=["state", "closed_at", "version"])
    return current


@transaction.atomic
def take_up_again(order: Order) -> Order:
    """A dropped draft is written on again."""
    current = lock_order(order)
    if current.state != OrderState.DROPPED:
        raise Refused(f"{current} was not dropped. Load the page again to see how it stands.", code="not_dropped")
    current.state, current.closed_at = OrderState.DRAFT, None
    current.version += 1
    current.save(update_fields=["state", "closed_at", "version"])
    return current
