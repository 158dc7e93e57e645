"""By when how many of each key must be there, and which wants nobody can meet in time or at all."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.buying.wants import Key, Source, Want

WHENEVER = date.max


@dataclass(frozen=True, slots=True)
class Unbought:
    """A want without a way to buy it: `no_offer`, or `no_price` where offers are there and none says what it costs."""

    want: Want
    why: str


@dataclass(frozen=True, slots=True)
class Dated:
    """A want that can be bought. `by` is the day it is bought for: the day it is needed, or where nothing comes by then the first
    day on which anything comes, so that what is late is as little late as can be."""

    want: Want
    by: date

    @property
    def is_late(self) -> bool:
        return self.want.needed_on is not None and self.by > self.want.needed_on


def dated(wants: Iterable[Want], usable: Mapping[Key, Sequence[Source]], today: date) -> list[Dated]:
    """The buyable wants, the earliest first; of those for one day in the order given."""
    found = [Dated(want, _by(want, usable[want.key], today)) for want in wants if usable.get(want.key)]
    return sorted(found, key=lambda one: one.by)


def _by(want: Want, sources: Sequence[Source], today: date) -> date:
    if want.needed_on is None:
        return WHENEVER
    return max(want.needed_on, min(source.arrives_on(today) for source in sources))


def unbought(wants: Iterable[Want], sources: Iterable[Source], usable: Mapping[Key, Sequence[Source]]) -> tuple[Unbought, ...]:
    offered = {source.want_key for source in sources}
    return tuple(Unbought(want, "no_price" if want.key in offered else "no_offer") for want in wants if not usable.get(want.key))


def totals_by_day(wants: Iterable[Dated]) -> dict[Key, list[tuple[date, int]]]:
    """Of each key (day, how many must have come by then in all), the days rising."""
    totals: dict[Key, list[tuple[date, int]]] = {}
    for one in sorted(wants, key=lambda one: one.by):
        days = totals.setdefault(one.want.key, [])
        count = one.want.count + (days[-1][1] if days else 0)
        if days and days[-1][0] == one.by:
            days.pop()
        days.append((one.by, count))
    return totals
