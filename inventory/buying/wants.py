"""What is asked: wants, what suppliers sell for them, and the terms they sell under.

Sums of a source and of its supplier's terms are thousandths of the smallest coin of the supplier's own money, since a smallest
order and a carriage-free one are reckoned in it; `rate` turns them into the shop's.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

Key = int | str
COIN_MILLI = 1000
Breaks = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Want:
    """`count` pieces of `key`, at the bench by `needed_on` (None: whenever they come). Several wants may have one key."""

    key: Key
    count: int
    needed_on: date | None = None

    def __post_init__(self) -> None:
        if self.count < 1:
            raise ValueError(f"a want of {self.count} pieces wants nothing")


@dataclass(frozen=True, slots=True)
class Source:
    """One offer that would do for a want. `breaks` are (from count, price of one), the counts rising.

    The price of one for the whole count is that of the highest break reached. Below the first break the first price holds.
    """

    want_key: Key
    offer_key: Key
    supplier_key: Key
    breaks: Breaks
    pack_size: int = 1
    least_count: int = 1
    lead_days: int = 0

    def __post_init__(self) -> None:
        counts = [count for count, _ in self.breaks]
        if not counts or counts != sorted(set(counts)):
            raise ValueError(f"the breaks of {self.offer_key} must rise: {self.breaks}")
        if self.pack_size < 1 or self.least_count < 1 or self.lead_days < 0:
            raise ValueError(f"{self.offer_key} sells nothing, or before it is asked")

    @property
    def has_price(self) -> bool:
        """A price of nothing is one to be asked for."""
        return all(unit > 0 for _, unit in self.breaks)

    def unit_milli_at(self, count: int) -> int:
        return max((step for step in self.breaks if step[0] <= count), default=self.breaks[0])[1]

    def break_at(self, count: int) -> int:
        """The count from which the price for `count` holds."""
        return max((step[0] for step in self.breaks if step[0] <= count), default=1)

    def goods_milli(self, count: int) -> int:
        """What `count` come to, a whole coin half up: a paper's lines are rounded, and terms are held against their sum."""
        return (self.unit_milli_at(count) * count + COIN_MILLI // 2) // COIN_MILLI * COIN_MILLI

    def sold_from(self, count: int) -> int:
        """The smallest count that is sold and isn't below `count`."""
        return -(-max(count, self.least_count) // self.pack_size) * self.pack_size

    def arrives_on(self, today: date) -> date:
        return today + timedelta(days=self.lead_days)


@dataclass(frozen=True, slots=True)
class SupplierTerms:
    """`carriage_milli` is paid once an order, and not at all from `carriage_free_from_milli` of goods on.

    `rate`: what a thousandth of their smallest coin is in thousandths of the shop's.
    """

    key: Key
    minimum_order_milli: int = 0
    carriage_milli: int = 0
    carriage_free_from_milli: int | None = None
    rate: Fraction = Fraction(1)

    def carriage_for(self, goods_milli: int) -> int:
        free = self.carriage_free_from_milli
        return 0 if free is not None and goods_milli >= free else self.carriage_milli

    @property
    def highest_threshold_milli(self) -> int:
        """Beyond it nothing gets cheaper by buying more than is wanted, but for a price break."""
        return max(self.minimum_order_milli, self.carriage_free_from_milli or 0)
