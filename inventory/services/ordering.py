"""An order goes out: it is numbered and frozen. Afterwards a rest may be given up, and the order closes when nothing is open."""

from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from inventory.models import Order, OrderLine, OrderState
from inventory.queries.exchange import rate_of
from inventory.queries.on_order import with_received
from inventory.services.orders import lock_draft, lock_order, shop_currency
from shop.acts import Refused, Stale
from shop.models import Staff
from shop.numbers import next_number

ORDER_SERIES = "B"


@transaction.atomic
def send_order(order: Order, *, person: Staff, at: datetime, seen: int | None = None) -> Order:
    """Number and freeze the order. Days are reckoned from the day it goes out, by the offer's lead time or the supplier's."""
    current = lock_draft(order, seen)
    lines = list(OrderLine.objects.filter(order=current).select_related("offer"))
    _check_sendable(current, lines)
    day = timezone.localdate(at)
    for line in lines:
        if line.expected_on is None or line.expected_on < day:
            line.expected_on = _expected(current, line, day)
            line.save(update_fields=["expected_on"])
    current.exchange_ppm = rate_of(current.supplier, shop_currency())
    current.number = str(next_number(ORDER_SERIES, day.year))
    current.state, current.sent_at, current.sent_by = OrderState.SENT, at, person
    current.expected_on = max(line.expected_on for line in lines if line.expected_on)
    current.version += 1
    current.save()
    return current


def _check_sendable(order: Order, lines: list[OrderLine]) -> None:
    if not lines:
        raise Refused("Nothing is on this order yet. Add a line, or drop the order.", code="empty")
    theirs = order.supplier.currency or shop_currency()
    if theirs != order.currency:
        raise Refused(
            f"This order was written in {order.currency}, and {order.supplier} is paid in {theirs} now. "
            "Drop it and write a new one with today's prices.",
            code="currency",
        )


def _expected(order: Order, line: OrderLine, day: date) -> date:
    own = line.offer.lead_days if line.offer else None
    return day + timedelta(days=order.supplier.lead_days if own is None else own)


def open_count(line: OrderLine) -> int:
    """What is still to come on a line `with_received`; nothing where more came than was ordered."""
    return max(line.coming, 0)  # type: ignore[attr-defined]


def lock_sent(order: Order, seen: int | None = None) -> Order:
    current = lock_order(order)
    if current.state not in (OrderState.SENT, OrderState.CLOSED):
        raise Refused(f"{current} was not sent. Send it first.", code="not_sent")
    if seen is not None and current.version != seen:
        raise Stale("Somebody else booked something on this order since you opened it. Look what is open now, then send again.")
    return current


def settle(order: Order, at: datetime) -> None:
    """Close a locked order on which nothing is open any more, and open one again on which something is."""
    is_open = any(open_count(line) for line in with_received(OrderLine.objects.filter(order=order)))
    order.state = OrderState.SENT if is_open else OrderState.CLOSED
    order.closed_at = None if is_open else (order.closed_at or at)
    order.version += 1
    order.save(update_fields=["state", "closed_at", "version"])


@transaction.atomic
def will_not_come(line: OrderLine, count: int, *, reason: str, at: datetime, seen: int | None = None) -> OrderLine:
    """So many of what is still open on a line are given up, for a reason that stays with the line."""
    order = lock_sent(line.order, seen)
    current = with_received(OrderLine.objects.filter(pk=line.pk)).get()
    if not 1 <= count <= open_count(current):
        raise Refused(_not_open(current, count), field="count", code="not_open")
    if not reason.strip():
        raise Refused("Say why it will not come, in a few words.", field="reason")
    current.dropped_count += count
    current.dropped_why = reason.strip()[:200]
    current.save(update_fields=["dropped_count", "dropped_why"])
    settle(order, at)
    return current


def _not_open(line: OrderLine, count: int) -> str:
    is_open = open_count(line)
    if not is_open:
        return f"Nothing of {line.text} is open on this order any more."
    return (
        f"{is_open} of {line.text} {'is' if is_open == 1 else 'are'} still open. Type a count from 1 to {is_open}, not {count}."
    )


@transaction.atomic
def comes_after_all(line: OrderLine, *, at: datetime) -> OrderLine:
    """What was given up is waited for again; a closed order opens with it."""
    order = lock_sent(line.order)
    current = OrderLine.objects.get(pk=line.pk)
    if not current.dropped_count:
        raise Refused(f"Nothing of {current.text} was given up. Load the page again to see how it stands.", code="not_dropped")
    current.dropped_count, current.dropped_why = 0, ""
    current.save(update_fields=["dropped_count", "dropped_why"])
    settle(order, at)
    return current


@transaction.atomic
def expect_on(line: OrderLine, day: date, *, seen: int | None = None) -> OrderLine:
    """The supplier named another day. What was ordered stands; when it is waited for follows what is known."""
    order = lock_sent(line.order, seen)
    current = OrderLine.objects.get(pk=line.pk)
    current.expected_on = day
    current.save(update_fields=["expected_on"])
    order.expected_on = OrderLine.objects.filter(order=order).aggregate(last=Max("expected_on"))["last"]
    order.version += 1
    order.save(update_fields=["expected_on", "version"])
    return current
