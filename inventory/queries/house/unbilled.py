"""What came on orders and no bill charges for: nothing tells such a line from the many that are billed but both of its sums."""

from collections.abc import Sequence
from datetime import datetime

from inventory.models import OrderLine
from inventory.queries.supplier_bills import unbilled
from shop.tallies import Counting, Line, Question, Sums, few

# Measured: the lines of so many orders are summed up within some 20 ms of processor time.
MOST_AT_A_LOOK = 1_000


def count(question: Question, at: datetime) -> Sums:
    rows = unbilled().values_list("pk", "received", "was_billed")  # type: ignore[misc]
    return Sums({}, [list(row) for row in rows])


def orders_are_few() -> bool:
    return few(OrderLine, most=MOST_AT_A_LOOK)


UNBILLED = Counting("inventory:unbilled", "Came in and not billed", count, orders_are_few)


def lines_shown(lines: Sequence[Line]) -> list[OrderLine]:
    """As `unbilled` has them, with the counts of that moment. One query."""
    known = OrderLine.objects.select_related("order__supplier", "part").in_bulk([line[0] for line in lines])
    found = []
    for pk, received, was_billed in lines:
        line = known.get(pk)
        if line is None:  # gone since it was counted
            continue
        line.received, line.was_billed, line.not_billed = received, was_billed, received - was_billed  # type: ignore[attr-defined]
        found.append(line)
    return found
