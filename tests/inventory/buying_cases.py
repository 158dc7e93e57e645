"""Generated buying problems, and the cheapest basket of a small one found by trying every count there is."""

import random
from collections.abc import Iterator
from datetime import date, timedelta
from fractions import Fraction
from itertools import product

from inventory.buying import Key, Source, SupplierTerms, Want

TODAY = date(2026, 3, 2)
POUND = 100_000
Case = tuple[list[Want], list[Source], list[SupplierTerms]]


def a_case(seed: int, wants: int, suppliers: int) -> Case:
    """Prices from 5 pence to 15 pounds, breaks at 10, 25 and 100, packs, smallest orders, carriage, some wanted by a day."""
    chance = random.Random(seed)
    terms = [_terms(chance, key) for key in range(suppliers)]
    asked = [Want(key, chance.choice((1, 1, 2, 3, 5, 10, 20)), _some_day(chance)) for key in range(wants)]
    sources = [_source(chance, key, supplier) for key in range(wants) for supplier in range(suppliers) if chance.random() < 0.6]
    return asked, sources, terms


def a_small_case(seed: int, finest: int = 1000) -> Case:
    """Small enough to try everything: a few wants and offers, counts up to thirteen; prices in steps of `finest` thousandths.

    A threshold of 60 coins at 9 each is 7 pieces; six are wanted at most.
    """
    chance = random.Random(seed)
    terms = [_small_terms(chance, key) for key in range(2)]
    asked = [Want(key, chance.randint(1, 3), _some_day(chance)) for key in range(chance.randint(1, 2))]
    if chance.random() < 0.4:
        asked.append(Want(0, chance.randint(1, 3), _some_day(chance)))
    sources = [
        _small_source(chance, want.key, supplier, finest) for want in asked[:2] for supplier in range(2) if chance.random() < 0.85
    ]
    return asked, list({source.offer_key: source for source in sources}.values()), terms


def _some_day(chance: random.Random) -> date | None:
    return chance.choice((None, None, TODAY + timedelta(days=chance.randint(2, 20))))


def _terms(chance: random.Random, key: int) -> SupplierTerms:
    return SupplierTerms(
        key,
        minimum_order_milli=chance.choice((0, 0, 10, 20, 30)) * POUND,
        carriage_milli=chance.choice((2, 4, 5, 8)) * POUND - chance.choice((0, 5_000)),
        carriage_free_from_milli=chance.choice((None, 30 * POUND, 50 * POUND, 80 * POUND)),
        rate=chance.choice((Fraction(1), Fraction(1), Fraction(865, 1000))),
    )


def _source(chance: random.Random, want: int, supplier: int) -> Source:
    unit = _as_printed(10 ** chance.uniform(3.7, 6.2))
    breaks = [(1, unit), *((start, _as_printed(unit * share)) for start, share in _BREAKS if chance.random() < 0.6)]
    pack, least, days = chance.choice((1, 1, 1, 5, 10)), chance.choice((1, 1, 1, 5)), chance.choice((2, 3, 5, 7, 14))
    return Source(want, f"{supplier}-{want}", supplier, tuple(breaks), pack, least, days)


def _as_printed(unit_milli: float) -> int:
    """Lists print whole pence, and tenths of a penny for what costs less than ten."""
    step = 1000 if unit_milli >= 10_000 else 100
    return round(unit_milli / step) * step


_BREAKS = ((10, 0.9), (25, 0.8), (100, 0.65))


def _small_terms(chance: random.Random, key: int) -> SupplierTerms:
    return SupplierTerms(
        key,
        minimum_order_milli=chance.choice((0, 0, 40_000, 50_000)),
        carriage_milli=chance.choice((0, 7_000, 25_000)),
        carriage_free_from_milli=chance.choice((None, 40_000, 60_000)),
        rate=chance.choice((Fraction(1), Fraction(865, 1000), Fraction(13, 11))),
    )


def _small_source(chance: random.Random, want: Key, supplier: int, finest: int) -> Source:
    unit = chance.randint(9_000 // finest, 30_000 // finest) * finest
    breaks = [
        (1, unit),
        *((start, chance.randint(9_000 // finest, unit // finest) * finest) for start in (3, 6) if chance.random() < 0.5),
    ]
    days = chance.choice((1, 4, 9))
    return Source(want, f"{supplier}-{want}", supplier, tuple(breaks), chance.choice((1, 1, 2)), chance.choice((1, 1, 3)), days)


def cheapest_by_trying(case: Case, deadlines: list[date | None], most: int = 13) -> Fraction | None:
    """Every count of every source up to `most`; `deadlines` are the days by which the wants must be met."""
    asked, sources, terms = case
    due = sorted(zip(asked, deadlines, strict=True), key=lambda one: one[1] or date.max)
    allowed = [[0, *(n for n in range(1, most + 1) if n >= one.least_count and n % one.pack_size == 0)] for one in sources]
    costs = (
        _cost(dict(zip(range(len(sources)), counts, strict=True)), sources, terms)
        for counts in product(*allowed)
        if _enough(counts, sources, due)
    )
    return min((cost for cost in costs if cost is not None), default=None)


def _enough(counts: tuple[int, ...], sources: list[Source], due: list[tuple[Want, date | None]]) -> bool:
    wanted: dict[Key, int] = {}
    for want, by in due:
        wanted[want.key] = wanted.get(want.key, 0) + want.count
        there = sum(
            count
            for count, one in zip(counts, sources, strict=True)
            if one.want_key == want.key and (by is None or TODAY + timedelta(days=one.lead_days) <= by)
        )
        if there < wanted[want.key]:
            return False
    return True


def _cost(counts: dict[int, int], sources: list[Source], terms: list[SupplierTerms]) -> Fraction | None:
    return sum(_order_costs(counts, sources, terms), Fraction(0)) if _minimums(counts, sources, terms) else None


def _goods(counts: dict[int, int], sources: list[Source], key: Key) -> int:
    """The price of a break reckoned anew from the list, not by the code that is tested."""
    total = 0
    for number, count in counts.items():
        if count and sources[number].supplier_key == key:
            price = sources[number].breaks[0][1]
            for start, unit in sources[number].breaks:
                price = unit if count >= start else price
            total += (count * price + 500) // 1000 * 1000
    return total


def _minimums(counts: dict[int, int], sources: list[Source], terms: list[SupplierTerms]) -> bool:
    used = {sources[number].supplier_key for number, count in counts.items() if count}
    return all(_goods(counts, sources, one.key) >= one.minimum_order_milli for one in terms if one.key in used)


def _order_costs(counts: dict[int, int], sources: list[Source], terms: list[SupplierTerms]) -> Iterator[Fraction]:
    used = {sources[number].supplier_key for number, count in counts.items() if count}
    for one in terms:
        if one.key in used:
            goods = _goods(counts, sources, one.key)
            free = one.carriage_free_from_milli is not None and goods >= one.carriage_free_from_milli
            yield (goods + (0 if free else one.carriage_milli)) * one.rate
