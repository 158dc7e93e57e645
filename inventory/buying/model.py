"""The buying problem as a mixed-integer linear program: which price break of which offer, how many packs, which suppliers.

For each break of each offer whether it is used and how many packs are bought at its price; for each supplier whether anything is
ordered and whether the order goes carriage-free. Both devices used here, fixed charges and prices by quantity with one binary a
break, are in any book on integer programming.

On an order each line is rounded to the coin, and to search among rounded sums takes a hundred times as long. So the search
reckons unrounded. Where a sum must be reached it gives (or, `strict`, takes) half a coin a line that may be rounded: what it
gives may have to be refused, what it takes never. Where prices are whole coins there is nothing to round.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from inventory.buying.baskets import Terms
from inventory.buying.deadlines import Dated, totals_by_day
from inventory.buying.wants import COIN_MILLI, Key, Source


@dataclass(frozen=True, slots=True)
class Segment:
    """One price of one offer, with the packs that can sensibly be bought at it.

    `most_packs` are bought because they are wanted, or make the price; `spare_packs` besides, only to reach a threshold. Kept
    apart they let the solver see early what a line brings of its order's carriage: a shorter search.
    """

    source: Source
    unit_milli: int
    least_packs: int
    most_packs: int
    spare_packs: int

    @property
    def pack_milli(self) -> int:
        return self.unit_milli * self.source.pack_size

    @property
    def pack_coins(self) -> float:
        return self.pack_milli / COIN_MILLI

    @property
    def may_be_rounded(self) -> bool:
        return self.pack_milli % COIN_MILLI != 0


def segments_of(source: Source, wanted: int, threshold_milli: int) -> list[Segment]:
    """One segment a break. More than wanted is sensible up to the break's own count, and beyond by what reaches the threshold:
    one pack less would still do otherwise."""
    pack, found = source.pack_size, []
    starts = [1, *(count for count, _ in source.breaks[1:])]
    for number, (start, (_, unit)) in enumerate(zip(starts, source.breaks, strict=True)):
        least = source.sold_from(start) // pack
        most = max(source.sold_from(wanted) // pack, least)
        spare = (threshold_milli + COIN_MILLI) // (unit * pack) + 1 if threshold_milli else 0
        if number + 1 < len(starts):
            last = (starts[number + 1] - 1) // pack
            most, spare = min(most, last), min(spare, last - min(most, last))
        if most >= least:
            found.append(Segment(source, unit, least, most, spare))
    return found


@dataclass
class _Rows:
    """Rows of the constraint matrix, each between two bounds."""

    values: list[float] = field(default_factory=list)
    rows: list[int] = field(default_factory=list)
    columns: list[int] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)

    def add(self, terms: Sequence[tuple[int, float]], low: float = float("-inf"), high: float = float("inf")) -> None:
        scale = max(1.0, *(abs(value) / 100 for _, value in terms))
        for column, value in terms:
            self.values.append(value / scale)
            self.rows.append(len(self.low))
            self.columns.append(column)
        self.low.append(low / scale)
        self.high.append(high / scale)


@dataclass(frozen=True, slots=True)
class Answer:
    """Counts as the solver left them, rounded; `is_proved` where it says that nothing costs less."""

    counts: Mapping[Source, int]
    is_proved: bool


class Model:
    """Columns: for each segment used, packs and spare packs, then for each supplier ordered and carriage-free. Sums in coins."""

    def __init__(
        self, wants: Sequence[Dated], usable: Mapping[Key, Sequence[Source]], terms: Terms, today: date, *, strict: bool = False
    ) -> None:
        self.today, self.strict = today, strict
        self.days = totals_by_day(wants)
        sources = [source for key in self.days for source in usable[key]]
        self.suppliers = [key for key in terms if any(source.supplier_key == key for source in sources)]
        self.terms = terms
        self.segments = [
            segment
            for source in sources
            for segment in segments_of(
                source, self.days[source.want_key][-1][1], terms[source.supplier_key].highest_threshold_milli
            )
        ]
        self.width = 3 * len(self.segments) + 2 * len(self.suppliers)
        self.rows = _Rows()
        self._packs_where_used()
        self._one_break_an_offer()
        self._enough_by_each_day()
        for number, key in enumerate(self.suppliers):
            self._terms_of(number, key)

    def _packs(self, segment: int) -> int:
        return len(self.segments) + segment

    def _spare(self, segment: int) -> int:
        return 2 * len(self.segments) + segment

    def _ordered(self, supplier: int) -> int:
        return 3 * len(self.segments) + supplier

    def _free(self, supplier: int) -> int:
        return 3 * len(self.segments) + len(self.suppliers) + supplier

    def _packs_where_used(self) -> None:
        for number, one in enumerate(self.segments):
            self.rows.add([(self._packs(number), 1), (number, -one.most_packs)], high=0)
            self.rows.add([(self._packs(number), 1), (number, -one.least_packs)], low=0)
            self.rows.add([(self._spare(number), 1), (number, -one.spare_packs)], high=0)

    def _one_break_an_offer(self) -> None:
        own: dict[Source, list[int]] = {}
        for number, one in enumerate(self.segments):
            own.setdefault(one.source, []).append(number)
        for source, numbers in own.items():
            supplier = self.suppliers.index(source.supplier_key)
            self.rows.add([*((number, 1.0) for number in numbers), (self._ordered(supplier), -1.0)], high=0)

    def _enough_by_each_day(self) -> None:
        for key, days in self.days.items():
            for day, wanted in days:
                in_time = [
                    (self._packs(number), float(one.source.pack_size))
                    for number, one in enumerate(self.segments)
                    if one.source.want_key == key and one.source.arrives_on(self.today) <= day
                ]
                self.rows.add(in_time, low=wanted)

    def _terms_of(self, supplier: int, key: Key) -> None:
        terms = self.terms[key]
        own = [(number, one) for number, one in enumerate(self.segments) if one.source.supplier_key == key]
        goods = [(column, one.pack_coins) for number, one in own for column in (self._packs(number), self._spare(number))]
        goods += [(number, -0.5 if self.strict else 0.5) for number, one in own if one.may_be_rounded]
        if terms.minimum_order_milli:
            self.rows.add([*goods, (self._ordered(supplier), -terms.minimum_order_milli / COIN_MILLI)], low=0)
        if self._may_be_free(supplier):
            self.rows.add([*goods, (self._free(supplier), -(terms.carriage_free_from_milli or 0) / COIN_MILLI)], low=0)
            self.rows.add([(self._free(supplier), 1), (self._ordered(supplier), -1)], high=0)

    def _may_be_free(self, supplier: int) -> bool:
        terms = self.terms[self.suppliers[supplier]]
        return terms.carriage_free_from_milli is not None and terms.carriage_milli > 0

    def cost(self) -> list[float]:
        """Coins of the shop's money that each column costs."""
        cost = [0.0] * self.width
        for number, one in enumerate(self.segments):
            each = one.pack_coins * float(self.terms[one.source.supplier_key].rate)
            cost[self._packs(number)] = cost[self._spare(number)] = each
        for number, key in enumerate(self.suppliers):
            carriage = float(self.terms[key].carriage_milli * self.terms[key].rate) / COIN_MILLI
            cost[self._ordered(number)] = carriage
            cost[self._free(number)] = -carriage
        return cost

    def pieces(self) -> list[float]:
        """Pieces that each column brings: what is made small among baskets that cost the same."""
        pieces = [0.0] * self.width
        for number, one in enumerate(self.segments):
            pieces[self._packs(number)] = pieces[self._spare(number)] = float(one.source.pack_size)
        return pieces

    def solve(self, seconds: float) -> Answer | None:
        """The cheapest counts; None where time ran out before any were found."""
        return self._run(self.cost(), seconds)

    def solve_for_least(self, total: Fraction, seconds: float) -> Answer | None:
        """The fewest pieces that cost no more than `total`, thousandths of the smallest coin."""
        cost = [(column, value) for column, value in enumerate(self.cost()) if value]
        self.rows.add(cost, high=float(total) / COIN_MILLI + 1e-4)
        return self._run(self.pieces(), seconds)

    def _bounds(self) -> list[float]:
        most = [1.0] * self.width
        for number, one in enumerate(self.segments):
            most[self._packs(number)] = float(one.most_packs)
            most[self._spare(number)] = float(one.spare_packs)
        for number in range(len(self.suppliers)):
            if not self._may_be_free(number):
                most[self._free(number)] = 0.0
        return most

    def _run(self, objective: Sequence[float], seconds: float) -> Answer | None:
        # Imported here because it takes half a second, and every page of the shop would wait for it at start-up.
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        shape = (len(self.rows.low), self.width)
        matrix = csr_array((self.rows.values, (self.rows.rows, self.rows.columns)), shape=shape)
        answer: Any = milp(
            objective,
            integrality=[1] * self.width,
            bounds=Bounds([0.0] * self.width, self._bounds()),
            constraints=LinearConstraint(matrix, self.rows.low, self.rows.high),
            options={"time_limit": seconds, "mip_rel_gap": 0.0},
        )
        if answer.x is None:
            return None
        return Answer(self._counts(answer.x), answer.status == 0)

    def _counts(self, columns: Sequence[float]) -> dict[Source, int]:
        counts: dict[Source, int] = {}
        for number, one in enumerate(self.segments):
            packs = round(float(columns[self._packs(number)])) + round(float(columns[self._spare(number)]))
            if packs:
                counts[one.source] = counts.get(one.source, 0) + packs * one.source.pack_size
        return counts
