"""What the lots of a day would fetch.

What the owner wrote a lot down to; else the list price of that day; else what the ladder makes of the lot's cost, which is never
less than the cost, so it doesn't matter that ladders keep no history. What the hour pays for is not written down by its price
(IAS 2, paragraphs 28 to 33; 32 for what is used up in the work).
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from inventory.models import Condition, Kind, ListPriceChange, Lot, Part, Writedown
from inventory.pricing import PriceTerms, marked_up, price_terms
from inventory.valuation import half_milli


@dataclass(frozen=True, slots=True)
class Fetches:
    """What one of a lot fetches, thousandths of a minor unit; `by` says how that is known."""

    unit_milli: int
    by: str
    writedown: Writedown | None = None


Fetching = Callable[[Part, Lot], Fetches]


def fetching_on(day: date, end: datetime, first_at: Mapping[int, datetime], lots: Mapping[int, Lot]) -> Fetching:
    """How to tell what a lot fetched on a day that ended at `end`. `first_at`: when each lot first moved. Four queries."""
    terms, listed, written = price_terms(), list_prices(end), _writedowns(day)

    def fetching(part: Part, lot: Lot) -> Fetches:
        down = written_down(lot, written, first_at, lots)
        # Written back up to its cost, a lot is as if it had never been written down.
        if down is not None and down.unit_milli < lot.unit_cost_milli:
            return Fetches(down.unit_milli, f"written down: {down.reason}", down)
        return _sells_for(part, lot, listed.get(part.pk, part.list_price_minor), terms)

    return fetching


def _sells_for(part: Part, lot: Lot, list_price_minor: int | None, terms: PriceTerms) -> Fetches:
    if part.in_the_hour:
        return Fetches(lot.unit_cost_milli, "the hour pays for it")
    if list_price_minor is not None:
        return Fetches(list_price_minor * 1000, "list price")
    price = marked_up(lot.unit_cost_minor, terms.steps_for(part.kind)) * 1000
    return Fetches(max(price, lot.unit_cost_milli), "markup ladder")


def list_prices(end: datetime) -> dict[int, int | None]:
    """The list price that each part had at that moment, where it was ever changed."""
    prices: dict[int, int | None] = {}
    changes = ListPriceChange.objects.order_by("at", "pk").values_list("part_id", "before_minor", "after_minor", "at")
    for part, before, after, at in changes:
        if at < end:
            prices[part] = after
        else:
            prices.setdefault(part, before)
    return prices


def _writedowns(day: date) -> dict[int, list[Writedown]]:
    """Those in force by then, of each lot, the one that counts last."""
    found: dict[int, list[Writedown]] = defaultdict(list)
    for one in Writedown.objects.filter(from_on__lte=day).order_by("from_on", "pk"):
        found[one.lot_id].append(one)
    return found


def written_down(
    lot: Lot, written: Mapping[int, Sequence[Writedown]], first_at: Mapping[int, datetime], lots: Mapping[int, Lot]
) -> Writedown | None:
    """The write-down that counts for a lot. An individual brings along what its lot was written down to before they parted."""
    mine, one = written.get(lot.pk, ()), lot
    parted_at: datetime | None = None
    while not mine and one.split_from_id is not None and one.split_from_id in lots and one.pk in first_at:
        parted_at = first_at[one.pk] if parted_at is None else min(parted_at, first_at[one.pk])
        one = lots[one.split_from_id]
        mine = [down for down in written.get(one.pk, ()) if down.at < parted_at]
    return mine[-1] if mine else None


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A used valve valued above half of what an unused one of its type cost."""

    lot: Lot
    on_hand: int
    taken_unit_milli: int
    half_milli: int


def used_above_half(lying: Iterable[tuple[Lot, int, int]], day: date) -> list[Suggestion]:
    """Used valves fetch at most half of what unused ones do (common practice, no source): a question, nothing is changed by it.

    `lying` are lots with how many lay there and the value taken of one.
    """
    used = [(lot, count, unit) for lot, count, unit in lying if lot.condition == Condition.USED]
    unused: dict[int, int] = {}
    of_valves = Lot.objects.filter(part__kind=Kind.VALVE, condition=Condition.NEW, received_on__lte=day, owner=None)
    for part, unit in of_valves.order_by("received_on", "pk").values_list("part_id", "unit_cost_milli"):
        unused[part] = unit
    above = [one for one in used if one[0].part_id in unused and one[2] > half_milli(unused[one[0].part_id])]
    return [Suggestion(lot, count, unit, half_milli(unused[lot.part_id])) for lot, count, unit in above]
