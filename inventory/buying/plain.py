"""The two ways of buying that need no computer: all from one supplier, or every part where it is cheapest by itself."""

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction

from inventory.buying.baskets import Basket, Terms, basket_of, faults
from inventory.buying.deadlines import Dated
from inventory.buying.wants import Key, Source, SupplierTerms

Usable = Mapping[Key, Sequence[Source]]


def cheapest_each(wants: Sequence[Dated], usable: Usable, terms: Terms, today: date) -> Basket | None:
    """Every want from the offer that is cheapest for it, whatever the carriage; a smallest order is reached by more of a part."""
    counts = _line_by_line(wants, usable, terms, today)
    return None if counts is None else _filled_up(counts, wants, terms, today, "each")


def cheapest_single(wants: Sequence[Dated], usable: Usable, terms: Terms, today: date) -> Basket | None:
    """Everything from the one supplier with whom it costs least; None where nobody has everything in time."""
    found = [basket for key in terms if (basket := _all_from(key, wants, usable, terms, today)) is not None]
    return min(found, key=lambda basket: basket.total, default=None)


def _all_from(key: Key, wants: Sequence[Dated], usable: Usable, terms: Terms, today: date) -> Basket | None:
    own = {want: [one for one in sources if one.supplier_key == key] for want, sources in usable.items()}
    counts = _line_by_line(wants, own, terms, today)
    return None if counts is None else _filled_up(counts, wants, terms, today, "single")


def _line_by_line(wants: Sequence[Dated], usable: Usable, terms: Terms, today: date) -> dict[Source, int] | None:
    wanted: dict[Source, int] = {}
    for one in wants:
        in_time = [source for source in usable.get(one.want.key, ()) if source.arrives_on(today) <= one.by]
        if not in_time:
            return None
        source = min(in_time, key=lambda source: _price(source, one.want.count, terms[source.supplier_key]))
        wanted[source] = wanted.get(source, 0) + one.want.count
    return {source: source.sold_from(count) for source, count in wanted.items()}


def _price(source: Source, count: int, terms: SupplierTerms) -> Fraction:
    """What it takes to have `count` of it; where a higher break costs less in all, that."""
    counts = [source.sold_from(count), *(source.sold_from(start) for start, _ in source.breaks if start > count)]
    return min(source.goods_milli(one) for one in counts) * terms.rate


def _filled_up(counts: dict[Source, int], wants: Sequence[Dated], terms: Terms, today: date, way: str) -> Basket | None:
    for source, count in counts.items():
        counts[source] = _to_a_cheaper_break(source, count)
    for key in {source.supplier_key for source in counts}:
        _reach_smallest_order(counts, terms[key])
    return None if faults(counts, wants, terms, today) else basket_of(counts, wants, terms, today, way)


def _to_a_cheaper_break(source: Source, count: int) -> int:
    counts = [count, *(source.sold_from(start) for start, _ in source.breaks if start > count)]
    return min(counts, key=lambda one: (source.goods_milli(one), one))


def _reach_smallest_order(counts: dict[Source, int], terms: SupplierTerms) -> None:
    """More of the one part with which the smallest order is passed by least."""
    own = [source for source in counts if source.supplier_key == terms.key]
    goods = sum(source.goods_milli(counts[source]) for source in own)
    if goods >= terms.minimum_order_milli:
        return
    raised = [(source, _raised(source, counts[source], terms.minimum_order_milli - goods)) for source in own]
    source, count = min(raised, key=lambda one: one[0].goods_milli(one[1]) - one[0].goods_milli(counts[one[0]]))
    counts[source] = count


def _raised(source: Source, count: int, short_milli: int) -> int:
    """The first count above `count` by which the goods are worth `short_milli` more."""
    aim = source.goods_milli(count) + short_milli
    while (short := aim - source.goods_milli(count)) > 0:
        packs = max(1, short // (source.unit_milli_at(count) * source.pack_size))
        count += packs * source.pack_size
    return count
