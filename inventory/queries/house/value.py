"""What the stock is worth: sums, kinds, what is to be asked, and a line a part, the dearest first."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Max, Min
from django.utils.timezone import localdate

from inventory.models import Kind, Lot, Part
from inventory.queries.house.size import stock_is_small
from inventory.queries.realisable import Suggestion, used_above_half
from inventory.queries.valuing import KindValue, LotValue, StockValue, Worth, sum_of, value_on
from shop.tallies import Counting, Line, Question, Sums, as_fraction, as_text

MOST_QUESTIONS = 20
# The lots of more parts than these at once take more memory than serving pages does.
PARTS_AT_ONCE = 5_000


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
    worths: list[tuple[int, str, Worth]] = []
    blocked: list[tuple[int, int, Line]] = []
    used: list[tuple[int, int, Line]] = []
    for value in _in_pieces(day, question.get("kind", "")):
        cost = {one.part.pk: -one.worth.cost_milli for one in value.parts}
        worths += ((one.part.pk, one.part.kind, one.worth) for one in value.parts)
        for ones, found in ((value.blocked, blocked), (_used(value), used)):
            found += ((cost[one.lot.part_id], one.lot.part_id, _asked_about(one)) for one in ones)
            found.sort(key=lambda row: row[:2])
            del found[MOST_QUESTIONS:]
    figures = {
        "day": day.isoformat(),
        "total": _written(sum_of(worth for _, _, worth in worths)),
        "kinds": list(_kinds(worths)),
        "blocked": [line[:2] for _, _, line in blocked],
        "used": [line for _, _, line in used],
    }
    worths.sort(key=lambda row: (-row[2].cost_milli, row[0]))
    return Sums(figures, [[pk, *_written(worth)] for pk, _, worth in worths])


def _in_pieces(day: date, kind: str) -> Iterator[StockValue]:
    ends = Part.objects.aggregate(oldest=Min("pk"), newest=Max("pk"))
    for first in range(ends["oldest"] or 1, (ends["newest"] or 0) + 1, PARTS_AT_ONCE):
        yield value_on(day, kind=kind, among=(first, first + PARTS_AT_ONCE - 1))


def _asked_about(one: LotValue | Suggestion) -> Line:
    half = one.half_milli if isinstance(one, Suggestion) else 0
    return [one.lot.pk, one.on_hand, one.taken_unit_milli, half]


def _kinds(worths: Sequence[tuple[int, str, Worth]]) -> Iterator[Line]:
    by_kind: dict[str, list[Worth]] = {}
    for _, kind, worth in worths:
        by_kind.setdefault(kind, []).append(worth)
    for code, label in Kind.choices:
        if code in by_kind:
            yield [label, *_written(sum_of(by_kind[code]))]


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
