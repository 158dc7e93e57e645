"""Parts come in on an order: several lines at once, in part or in full, the carriage shared over them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction

from django.db import transaction

from inventory.models import Condition, Drawer, Lot, Order, OrderLine
from inventory.queries.exchange import whole
from inventory.queries.on_order import with_received
from inventory.services import card_sums
from inventory.services.ledger import Receipt, receive
from inventory.services.ordering import lock_sent, open_count, settle
from shop.acts import Refused
from shop.models import Staff
from shop.totals import share_out

# Fields of a receipt that a form has once for each line.
OF_A_LINE = ("count", "unit_cost")


@dataclass(frozen=True, slots=True)
class ArrivedLine:
    """What came in on one line. `unit_cost_milli` in thousandths of the smallest coin of the shop's money, without carriage.

    `why_more` is asked for where more came than is open.
    """

    line: OrderLine
    count: int
    drawer: Drawer
    unit_cost_milli: int
    date_code: str = ""
    condition: str = Condition.NEW
    note: str = ""
    why_more: str = ""


@transaction.atomic
def receive_on_order(
    order: Order,
    arrived: Sequence[ArrivedLine],
    *,
    received_on: date,
    person: Staff,
    at: datetime,
    carriage_minor: int = 0,
    seen: int | None = None,
) -> list[Lot]:
    """One lot a line. `carriage_minor`, in the shop's smallest coin, is shared over the lines by what they cost.

    The order's row is locked first, so that of two receipts at once the second sees what the first one left open.
    """
    current = lock_sent(order, seen)
    if not arrived:
        raise Refused("Nothing was typed to come in. Type a count at a line that came.", code="nothing")
    known = {line.pk: line for line in with_received(OrderLine.objects.filter(order=current).select_related("part"))}
    costs = with_carriage(arrived, carriage_minor)
    card_sums.lock(line.part_id for line in known.values() if line.part_id)
    lots = []
    for one, cost in zip(arrived, costs, strict=True):
        line = known[one.line.pk]
        _check_more(line, one)
        lots.append(_receive_one(current, line, one, cost, received_on=received_on, person=person, at=at))
        line.coming -= one.count  # type: ignore[attr-defined]
    settle(current, at)
    return lots


def _check_more(line: OrderLine, one: ArrivedLine) -> None:
    more = one.count - open_count(line)
    if more > 0 and not one.why_more.strip():
        raise Refused(
            f"{one.count} of {line.text} came and {open_count(line) or 'none'} {'is' if open_count(line) == 1 else 'are'} open. "
            "Check the count; if more really came, say why it is kept.",
            field=f"why_more_{line.pk}",
            code="more_than_ordered",
        )


def _receive_one(
    order: Order, line: OrderLine, one: ArrivedLine, unit_cost_milli: int, *, received_on: date, person: Staff, at: datetime
) -> Lot:
    over = one.count > open_count(line)
    receipt = Receipt(
        line.part,
        one.drawer,
        one.count,
        unit_cost_milli,
        received_on,
        supplier=order.supplier,
        date_code=one.date_code,
        condition=one.condition,
        note=one.note,
        order_line=line,
        reason=f"more than ordered: {one.why_more.strip()}" if over else "",
    )
    try:
        return receive(receipt, person=person, at=at)
    except Refused as refused:
        own = f"{refused.field}_{line.pk}" if refused.field in OF_A_LINE else refused.field
        raise Refused(f"{line.text}: {refused.message}", field=own, code=refused.code) from refused


def with_carriage(arrived: Sequence[ArrivedLine], carriage_minor: int) -> list[int]:
    """The cost of one piece of each line with its share of the carriage, thousandths of the smallest coin.

    The shares are by value (by count where nothing costs anything) and sum to the carriage exactly, largest remainder first. A
    lot keeps one cost for each of its pieces, so a share that doesn't divide by the count is rounded to the nearest thousandth.
    """
    shares = carriage_shares(arrived, carriage_minor)
    return [
        one.unit_cost_milli + whole(Fraction(share, one.count)) if one.count > 0 else one.unit_cost_milli
        for one, share in zip(arrived, shares, strict=True)
    ]


def carriage_shares(arrived: Sequence[ArrivedLine], carriage_minor: int) -> list[int]:
    """Each line's share in thousandths of the smallest coin; they sum to the carriage."""
    values = [max(one.count, 0) * one.unit_cost_milli for one in arrived]
    weights = values if any(values) else [max(one.count, 0) for one in arrived]
    return share_out(carriage_minor * 1000, weights)
