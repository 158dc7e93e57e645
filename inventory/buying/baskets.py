"""A basket in whole numbers: what is bought where, what it comes to, when each want is met, and what is wrong with it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from inventory.buying.deadlines import Dated, Unbought, totals_by_day
from inventory.buying.wants import Key, Source, SupplierTerms, Want


@dataclass(frozen=True, slots=True)
class Line:
    source: Source
    count: int

    @property
    def unit_milli(self) -> int:
        return self.source.unit_milli_at(self.count)

    @property
    def goods_milli(self) -> int:
        return self.source.goods_milli(self.count)

    @property
    def packs(self) -> int:
        return self.count // self.source.pack_size


@dataclass(frozen=True, slots=True)
class SupplierOrder:
    """What one supplier is asked for. Sums in the supplier's money; `total` in thousandths of the shop's smallest coin."""

    terms: SupplierTerms
    lines: tuple[Line, ...]

    @property
    def goods_milli(self) -> int:
        return sum(line.goods_milli for line in self.lines)

    @property
    def carriage_milli(self) -> int:
        return self.terms.carriage_for(self.goods_milli)

    @property
    def total_milli(self) -> int:
        return self.goods_milli + self.carriage_milli

    @property
    def total(self) -> Fraction:
        return self.total_milli * self.terms.rate


@dataclass(frozen=True, slots=True)
class Delivery:
    """When the last piece of a want is there."""

    want: Want
    arrives_on: date

    @property
    def is_late(self) -> bool:
        return self.want.needed_on is not None and self.arrives_on > self.want.needed_on


@dataclass(frozen=True, slots=True)
class Basket:
    """`surplus`: pieces of a key beyond what is wanted. `way`: together, single, each (one plain way) or nothing."""

    orders: tuple[SupplierOrder, ...]
    deliveries: tuple[Delivery, ...]
    surplus: Mapping[Key, int]
    way: str

    @property
    def total(self) -> Fraction:
        return sum((order.total for order in self.orders), Fraction(0))

    @property
    def pieces(self) -> int:
        return sum(line.count for order in self.orders for line in order.lines)

    @property
    def late(self) -> tuple[Delivery, ...]:
        return tuple(one for one in self.deliveries if one.is_late)


@dataclass(frozen=True, slots=True)
class Choice:
    """The cheapest basket, and the two plain ones where there are such.

    `single`: everything from the one supplier who does it cheapest. `each`: every want where it is cheapest by itself.
    `is_proved`: nothing cheaper exists; else time ran out and `best` is the best that was found.
    """

    best: Basket
    single: Basket | None
    each: Basket | None
    unbought: tuple[Unbought, ...]
    is_proved: bool


Counts = Mapping[Source, int]
Terms = Mapping[Key, SupplierTerms]


def basket_of(counts: Counts, wants: Sequence[Dated], terms: Terms, today: date, way: str) -> Basket:
    """The basket of these counts; sources of which nothing is bought are left out."""
    bought = {source: count for source, count in counts.items() if count}
    lines: dict[Key, list[Line]] = {}
    for source, count in bought.items():
        lines.setdefault(source.supplier_key, []).append(Line(source, count))
    orders = tuple(SupplierOrder(terms[key], tuple(lines[key])) for key in terms if key in lines)
    return Basket(orders, deliveries(bought, wants, today), _surplus(bought, wants), way)


def deliveries(bought: Counts, wants: Sequence[Dated], today: date) -> tuple[Delivery, ...]:
    """What comes first goes to the want that is due first."""
    coming: dict[Key, list[tuple[date, int]]] = {}
    for source, count in bought.items():
        coming.setdefault(source.want_key, []).append((source.arrives_on(today), count))
    for days in coming.values():
        days.sort(reverse=True)
    return tuple(Delivery(one.want, _last_piece(coming.get(one.want.key, []), one.want.count)) for one in wants)


def _last_piece(coming: list[tuple[date, int]], wanted: int) -> date:
    """The day on which the last of `wanted` comes; takes them off. What never comes is `date.max`."""
    day = date.max
    while wanted and coming:
        day, count = coming.pop()
        if count > wanted:
            coming.append((day, count - wanted))
        wanted -= min(count, wanted)
    return date.max if wanted else day


def _surplus(bought: Counts, wants: Iterable[Dated]) -> dict[Key, int]:
    wanted = {key: days[-1][1] for key, days in totals_by_day(wants).items()}
    over: dict[Key, int] = {}
    for source, count in bought.items():
        over[source.want_key] = over.get(source.want_key, -wanted.get(source.want_key, 0)) + count
    return {key: count for key, count in over.items() if count > 0}


def faults(counts: Counts, wants: Sequence[Dated], terms: Terms, today: date) -> list[str]:
    """What keeps these counts from being a basket: packs, least counts, smallest orders, days. Empty where nothing does."""
    found = []
    goods: dict[Key, int] = {}
    for source, count in counts.items():
        if count and (count < source.least_count or count % source.pack_size):
            found.append(f"{count} of {source.offer_key} aren't sold")
        if count:
            goods[source.supplier_key] = goods.get(source.supplier_key, 0) + source.goods_milli(count)
    found += [
        f"{key} sends nothing below its smallest order" for key, sum_ in goods.items() if sum_ < terms[key].minimum_order_milli
    ]
    for key, days in totals_by_day(wants).items():
        for day, wanted in days:
            if sum(n for source, n in counts.items() if source.want_key == key and source.arrives_on(today) <= day) < wanted:
                found.append(f"{wanted} of {key} don't come by {day}")
    return found
