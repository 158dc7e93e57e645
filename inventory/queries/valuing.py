"""What the stock was worth at the end of a day in the shop's time zone: by lot, by FIFO, by average, and what it would fetch.

By lot every part is worth what its lot cost; parts leave by lot, so that is the value at cost. FIFO and the weighted average
compare (`inventory.valuation`). Found at a count, a part belongs to its lot; sent back, it leaves its lot's layer; taken out of
a set, it is as if it had not been fitted; set apart as an individual, it keeps its lot's cost and age. By average all of these
come and go at the average.

The value taken is the lower of cost and realisable value, lot by lot (IAS 2, paragraphs 9 and 29; `queries.realisable`).
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from fractions import Fraction
from functools import cached_property

from django.db.models import Q
from django.utils import timezone

from inventory.models import Kind, Lot, Movement, MovementKind, Part
from inventory.queries.realisable import Fetches, Fetching, fetching_on
from inventory.valuation import Arrival, Layer, average_milli, fifo_milli, lower_milli

# What a lot's layer is made of; a count adds to it where it found more than it missed.
# Plain words, as millions of them are compared.
_RECEIVED, _COUNTED = MovementKind.RECEIVED.value, MovementKind.COUNTED.value
_LAYERED = frozenset((_RECEIVED, *(one.value for one in (MovementKind.SENT_BACK, MovementKind.SPLIT_IN, MovementKind.SPLIT_OUT))))
_WITHIN = frozenset(
    one.value for one in (MovementKind.MOVED_OUT, MovementKind.MOVED_IN, MovementKind.SPLIT_OUT, MovementKind.SPLIT_IN)
)
FIRST_DAY = date(1970, 1, 1)


def end_of(day: date) -> datetime:
    """The first moment that is no longer that day in the shop's time zone."""
    return timezone.make_aware(datetime.combine(day + timedelta(days=1), time.min)).astimezone(UTC)


@dataclass(frozen=True, slots=True)
class LotValue:
    """One lot that lay there that day."""

    lot: Lot
    on_hand: int
    fetches: Fetches

    @property
    def cost_milli(self) -> int:
        return self.on_hand * self.lot.unit_cost_milli

    @property
    def realisable_milli(self) -> int:
        return self.on_hand * self.fetches.unit_milli

    @property
    def taken_unit_milli(self) -> int:
        return lower_milli(self.lot.unit_cost_milli, self.fetches.unit_milli)

    @property
    def taken_milli(self) -> int:
        return self.on_hand * self.taken_unit_milli


@dataclass(frozen=True)
class Worth:
    """Sums of a part, a kind or all of it, in thousandths of a minor unit."""

    on_hand: int
    cost_milli: int
    fifo_milli: int
    average_milli: Fraction
    realisable_milli: int
    taken_milli: int

    @property
    def is_below_cost(self) -> bool:
        return self.taken_milli < self.cost_milli


@dataclass(frozen=True)
class PartValue:
    part: Part
    lots: Sequence[LotValue]
    worth: Worth


@dataclass(frozen=True)
class KindValue:
    label: str
    worth: Worth


@dataclass(frozen=True)
class StockValue:
    """What lay in the drawers at the end of `day`, the dearest parts first."""

    day: date
    parts: Sequence[PartValue]

    @cached_property
    def total(self) -> Worth:
        return sum_of(one.worth for one in self.parts)

    @cached_property
    def kinds(self) -> list[KindValue]:
        by_kind: dict[str, list[Worth]] = defaultdict(list)
        for one in self.parts:
            by_kind[one.part.kind].append(one.worth)
        return [KindValue(label, sum_of(by_kind[code])) for code, label in Kind.choices if code in by_kind]

    @property
    def lots(self) -> list[LotValue]:
        return [lot for one in self.parts for lot in one.lots]

    @property
    def blocked(self) -> list[LotValue]:
        """Blocked lots that are still valued as if they would sell."""
        return [one for one in self.lots if one.lot.blocked_reason and one.fetches.writedown is None]


def sum_of(worths: Iterable[Worth]) -> Worth:
    listed = list(worths)
    return Worth(
        sum(one.on_hand for one in listed),
        sum(one.cost_milli for one in listed),
        sum(one.fifo_milli for one in listed),
        sum((one.average_milli for one in listed), Fraction()),
        sum(one.realisable_milli for one in listed),
        sum(one.taken_milli for one in listed),
    )


@dataclass(frozen=True, slots=True)
class _Moved:
    """A lot's movements up to a moment, summed."""

    on_hand: int
    layered: int
    first_at: datetime


def value_on(day: date, *, part: Part | None = None, kind: str = "", among: tuple[int, int] | None = None) -> StockValue:
    """All of the shop's that lay there, or one part of it, or one kind; or parts with keys `among` these two, both included.

    Seven queries, however much it is.
    """
    end = end_of(day)
    of_part = Q(part=part) if part is not None else Q(part__kind=kind) if kind else Q()
    of_lots = of_part & (Q(part__gte=among[0], part__lte=among[1]) if among else Q()) & Q(owner=None)
    lots = {lot.pk: lot for lot in Lot.objects.filter(of_lots).order_by("pk")}
    moved, averages = _played(end, _through("lot", of_lots) if part or kind or among else Q(), lots)
    fetching = fetching_on(day, end, {pk: one.first_at for pk, one in moved.items()}, lots)
    by_part: dict[int, list[Lot]] = defaultdict(list)
    for lot in lots.values():
        if lot.pk in moved:
            by_part[lot.part_id].append(lot)
    parts = Part.objects.filter(**_of_part(part, kind), **({"pk__range": among} if among else {}))
    valued = [_part_value(one, by_part[one.pk], moved, averages.get(one.pk), fetching) for one in parts if one.pk in by_part]
    lying = [one for one in valued if one.lots]
    return StockValue(day, sorted(lying, key=lambda one: (-one.worth.cost_milli, one.part.pk)))


def _of_part(part: Part | None, kind: str) -> dict[str, object]:
    return {"pk": part.pk} if part is not None else {"kind": kind} if kind else {}


def _through(relation: str, condition: Q) -> Q:
    """The same condition asked through a relation."""
    return Q(*((f"{relation}__{name}", value) for name, value in condition.children))  # type: ignore[misc, union-attr]


@dataclass(slots=True)
class _Sums:
    """What the movements of a lot come to while they are played through."""

    first_at: datetime
    on_hand: int = 0
    came: int = 0
    counted: int = 0


def _played(end: datetime, of_lots: Q, lots: Mapping[int, Lot]) -> tuple[dict[int, _Moved], dict[int, Fraction]]:
    """Each lot's movements summed, and the moving average of each part, which needs their order: read once, in that order.

    Movements of other lots are passed over here: to join every movement with its lot takes several times as long.
    """
    moves = Movement.objects.filter(of_lots, at__lt=end).order_by("at", "pk").values_list("lot_id", "kind", "count", "at")
    sums: dict[int, _Sums] = {}
    on_hand: dict[int, int] = defaultdict(int)
    arrivals: dict[int, list[Arrival]] = defaultdict(list)
    for pk, kind, count, at in moves.iterator(chunk_size=5000):
        lot = lots.get(pk)
        if lot is None:
            continue
        of_lot = sums.get(pk)
        if of_lot is None:
            of_lot = sums[pk] = _Sums(at)
        of_lot.on_hand += count
        if kind in _LAYERED:
            of_lot.came += count
        elif kind == _COUNTED:
            of_lot.counted += count
        if kind not in _WITHIN:
            if kind == _RECEIVED:
                arrivals[lot.part_id].append(Arrival(on_hand[lot.part_id], count, lot.unit_cost_milli))
            on_hand[lot.part_id] += count
    moved = {pk: _Moved(one.on_hand, one.came + max(one.counted, 0), one.first_at) for pk, one in sums.items()}
    averages = {part: average for part, them in arrivals.items() if (average := average_milli(them)) is not None}
    return moved, averages


def _part_value(
    part: Part, lots: Sequence[Lot], moved: Mapping[int, _Moved], average: Fraction | None, fetching: Fetching
) -> PartValue:
    for lot in lots:
        lot.part = part
    lying = [LotValue(lot, moved[lot.pk].on_hand, fetching(part, lot)) for lot in lots if moved[lot.pk].on_hand > 0]
    on_hand, cost = sum(one.on_hand for one in lying), sum(one.cost_milli for one in lying)
    worth = Worth(
        on_hand,
        cost,
        fifo_milli(_layers(lots, moved), on_hand),
        Fraction(cost) if average is None else on_hand * average,
        sum(one.realisable_milli for one in lying),
        sum(one.taken_milli for one in lying),
    )
    return PartValue(part, lying, worth)


def _layers(lots: Sequence[Lot], moved: Mapping[int, _Moved]) -> list[Layer]:
    """Oldest first. An individual is as old as the lot it was set apart from."""
    known = {lot.pk: lot for lot in lots}

    def age(lot: Lot) -> tuple[datetime, int]:
        root = lot
        while root.split_from_id in known:
            root = known[root.split_from_id]
        return moved[root.pk].first_at, root.pk

    return [Layer(moved[lot.pk].layered, lot.unit_cost_milli) for lot in sorted(lots, key=lambda lot: (*age(lot), lot.pk))]
