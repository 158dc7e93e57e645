"""What lies dead: how many lots, what they cost, and a line a lot, those first that can still go back."""

from collections.abc import Sequence
from datetime import date, datetime

from django.utils.timezone import localdate

from inventory.models import Lot
from inventory.queries.house.size import stock_is_small
from inventory.queries.turning import USUAL_DEAD_DAYS, DeadLot, DeadRow, dead_rows
from shop.tallies import Counting, Line, Question, Sums


def asked(days: int) -> Question:
    return {} if days == USUAL_DEAD_DAYS else {"days": str(days)}


def count(question: Question, at: datetime) -> Sums:
    found = dead_rows(localdate(at), int(question.get("days") or USUAL_DEAD_DAYS))
    figures = {
        "count": len(found),
        "cost_milli": -sum(one.minus_cost_milli for one in found),
        "open_milli": -sum(one.minus_cost_milli for one in found if not one.cannot_go_back),
    }
    return Sums(figures, [_written(one) for one in found])


DEAD_STOCK = Counting("inventory:dead_stock", "What lies dead", count, stock_is_small)


def _written(one: DeadRow) -> Line:
    return [one.lot, one.on_hand, one.last_fitted_on.isoformat() if one.last_fitted_on else ""]


def lots_shown(lines: Sequence[Line], today: date) -> list[DeadLot]:
    """One query. Whether a lot can still go back is asked of today, not of the day of the count."""
    lots = Lot.objects.select_related("part", "supplier").in_bulk([line[0] for line in lines])
    return [DeadLot(lots[pk], on_hand, date.fromisoformat(last) if last else None, today) for pk, on_hand, last in lines]
