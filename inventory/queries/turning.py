"""How often stock turns, and what lies dead.

Turns are the cost of the parts fitted in a period over the average stock at cost. The average is that of thirteen moments evenly
spread over the period, its beginning and end among them: in a small shop one delivery would sway an average of both ends alone.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from django.db.models import Max, Q, Sum
from django.utils import timezone

from inventory.models import Kind, Lot, Movement, MovementKind, Part
from inventory.queries.valuing import end_of
from inventory.valuation import turns

PIECES = 12
USUAL_DEAD_DAYS = 365


def usual_period(today: date) -> tuple[date, date]:
    """The last twelve months."""
    return today - timedelta(days=364), today


@dataclass(frozen=True, slots=True)
class Turning:
    """Of a part or a kind: cost of what was fitted, average stock at cost; thousandths of a minor unit."""

    fitted_milli: int
    average_milli: Fraction

    @property
    def turns(self) -> Fraction | None:
        return turns(self.fitted_milli, self.average_milli)


@dataclass(frozen=True, slots=True)
class PartTurns:
    part: Part
    turning: Turning


@dataclass(frozen=True)
class StockTurns:
    """The dearest in stock first: there slow turns cost most."""

    first: date
    last: date
    parts: Sequence[PartTurns]

    @cached_property
    def total(self) -> Turning:
        return _sum(one.turning for one in self.parts)

    @cached_property
    def kinds(self) -> list[tuple[str, Turning]]:
        by_kind: dict[str, list[Turning]] = defaultdict(list)
        for one in self.parts:
            by_kind[one.part.kind].append(one.turning)
        return [(label, _sum(by_kind[code])) for code, label in Kind.choices if code in by_kind]


def _sum(turnings: Iterable[Turning]) -> Turning:
    listed = list(turnings)
    fitted, average = sum(one.fitted_milli for one in listed), sum((one.average_milli for one in listed), Fraction())
    return Turning(fitted, average)


def moments(first: date, last: date) -> list[datetime]:
    """The beginning of the first day, the end of the last, and eleven between them."""
    begin, end = end_of(first - timedelta(days=1)), end_of(last)
    return [begin + (end - begin) * piece / PIECES for piece in range(PIECES + 1)]


def turns_between(first: date, last: date) -> StockTurns:
    """Of every part that lay there or was fitted in the period; three queries, however many they are."""
    points = moments(first, last)
    fitted = Q(kind__in=(MovementKind.FITTED, MovementKind.TAKEN_OUT), at__gte=points[0])
    lying = {f"at_{n}": Sum("count", filter=Q(at__lt=point), default=0) for n, point in enumerate(points)}
    sums = Movement.objects.filter(at__lt=points[-1]).order_by().values_list("lot_id")
    rows = sums.annotate(fitted=Sum("count", filter=fitted, default=0), **lying)
    lots = {pk: (part, unit) for pk, part, unit in Lot.objects.values_list("pk", "part_id", "unit_cost_milli")}
    cost: dict[int, int] = defaultdict(int)
    stock: dict[int, int] = defaultdict(int)
    for lot, gone, *counts in rows:
        part, unit = lots[lot]
        cost[part] -= gone * unit
        stock[part] += sum(counts) * unit
    found = [
        PartTurns(part, Turning(cost[part.pk], Fraction(stock[part.pk], PIECES + 1)))
        for part in Part.objects.all()
        if cost[part.pk] or stock[part.pk]
    ]
    return StockTurns(first, last, sorted(found, key=lambda one: (-one.turning.average_milli, one.part.pk)))


@dataclass(frozen=True, slots=True)
class DeadLot:
    """A lot that came in long ago, of a part that nobody fitted since. `last_fitted_on` is the part's, None for never."""

    lot: Lot
    on_hand: int
    last_fitted_on: date | None
    today: date

    @property
    def cost_milli(self) -> int:
        return self.on_hand * self.lot.unit_cost_milli

    @property
    def age_days(self) -> int:
        return (self.today - self.lot.received_on).days

    @property
    def can_go_back(self) -> bool:
        return self.lot.supplier_id is not None and self.lot.can_go_back(self.today)

    @property
    def is_window_over(self) -> bool:
        return self.lot.return_until_on is not None and not self.can_go_back


class DeadRow(NamedTuple):
    """A dead lot by its key, in the order of the list: what can still go back first, then the dearest."""

    cannot_go_back: bool
    minus_cost_milli: int
    lot: int
    on_hand: int
    last_fitted_on: date | None


def dead_rows(today: date, days: int) -> list[DeadRow]:
    """Fitting a part from one of its lots keeps all its lots alive. Two queries; the lots themselves stay where they are."""
    since = today - timedelta(days=days)
    fits = Movement.objects.filter(kind=MovementKind.FITTED).order_by().values_list("lot__part_id").annotate(Max("at"))
    last = {part: timezone.localdate(at) for part, at in fits}
    there = Lot.objects.filter(received_on__lte=since, on_hand__gt=0, owner=None).order_by()
    columns = ("pk", "part_id", "on_hand", "unit_cost_milli", "supplier_id", "return_until_on")
    rows = []
    for pk, part, on_hand, unit, supplier, until in there.values_list(*columns).iterator():
        if part not in last or last[part] < since:
            can_go_back = supplier is not None and until is not None and today <= until
            rows.append(DeadRow(not can_go_back, -on_hand * unit, pk, on_hand, last.get(part)))
    return sorted(rows)


def dead_lots(today: date, days: int) -> list[DeadLot]:
    """What can still go back first, then the dearest."""
    rows = dead_rows(today, days)
    since = today - timedelta(days=days)
    there = Lot.objects.filter(received_on__lte=since, on_hand__gt=0, owner=None).select_related("part", "supplier")
    lots = {lot.pk: lot for lot in there}
    return [DeadLot(lots[row.lot], row.on_hand, row.last_fitted_on, today) for row in rows]
