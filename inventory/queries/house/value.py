"""What the stock is worth: sums, kinds, what is to be asked, and a line a part, the dearest first."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils.timezone import localdate

from inventory.models import Kind, Lot, Part
from inventory.queries.house.size import stock_is_small
from inventory.queries.realisable import Suggestion, used_above_half
from inventory.queries.valuing import KindValue, StockValue, Worth, value_on
from shop.tallies import Counting, Line, Question, Sums, as_fraction, as_text

MOST_QUESTIONS = 20


@dataclass(frozen=True, slots=True)
class Blocked:
    lot: Lot
    on_hand: int


@dataclass(frozen=True, slots=True)
class PartWorth:
    part: Part
    worth: Worth


@dataclass(frozen=True, slots=True)
class ValueShown:
    """`day`: at the end of which day it was counted."""

    day: date
    total: Worth
    kinds: Sequence[KindValue]
    blocked: Sequence[Blocked]
    used: Sequence[Suggestion]


def asked(day: date, today: date, kind: str) -> Question:
    """Today's value is asked without a day, so that what was counted in the night answers it."""
    return {"day": "" if day == today else day.isoformat(), "kind": kind}


def count(question: Question, at: datetime) -> Sums:
    day = date.fromisoformat(question["day"]) if question.get("day") else localdate(at)
    value = value_on(day, kind=question.get("kind", ""))
    figures = {
        "day": day.isoformat(),
        "total": _written(value.total),
        "kinds": [[one.label, *_written(one.worth)] for one in value.kinds],
        "blocked": [[one.lot.pk, one.on_hand] for one in value.blocked[:MOST_QUESTIONS]],
        "used": [[one.lot.pk, one.on_hand, one.taken_unit_milli, one.half_milli] for one in _used(value)[:MOST_QUESTIONS]],
    }
    return Sums(figures, [[one.part.pk, *_written(one.worth)] for one in value.parts])


def _used(value: StockValue) -> list[Suggestion]:
    valves = [(one.lot, one.on_hand, one.taken_unit_milli) for one in value.lots if one.lot.part.kind == Kind.VALVE]
    return used_above_half(valves, value.day)


STOCK_VALUE = Counting("inventory:stock_value", "Value of the stock", count, stock_is_small)


def _written(worth: Worth) -> Line:
    return [
        *(worth.on_hand, worth.cost_milli, worth.fifo_milli, as_text(worth.average_milli)),
        *(worth.realisable_milli, worth.taken_milli),
    ]


def _read(said: Line) -> Worth:
    on_hand, cost, fifo, average, realisable, taken = said
    return Worth(on_hand, cost, fifo, as_fraction(average), realisable, taken)


def value_shown(figures: dict[str, Any]) -> ValueShown:
    """One query for the lots that are asked about."""
    asked_about = [one[0] for one in (*figures["blocked"], *figures["used"])]
    lots = Lot.objects.select_related("part").in_bulk(asked_about)
    return ValueShown(
        date.fromisoformat(figures["day"]),
        _read(figures["total"]),
        [KindValue(label, _read(worth)) for label, *worth in figures["kinds"]],
        [Blocked(lots[pk], on_hand) for pk, on_hand in figures["blocked"]],
        [Suggestion(lots[pk], *rest) for pk, *rest in figures["used"]],
    )


def parts_shown(lines: Sequence[Line]) -> list[PartWorth]:
    """One query. Cards are never deleted."""
    parts = Part.objects.in_bulk([line[0] for line in lines])
    return [PartWorth(parts[pk], _read(worth)) for pk, *worth in lines]
