"""What is left is worth what: the arithmetic of costing stock, exact. Pure: no framework, no models.

Three ways, as IAS 2 (paragraphs 23 to 27) knows them:

* **by lot** (specific identification): every part is worth what its own lot cost. Parts leave by lot here, so this is the truth;
* **first in, first out**: what is left is what came in last. It compares, for books that don't tell lots apart;
* **weighted average**: whenever parts come in, what lies there and what comes are averaged; all else goes at that average.

All sums are in thousandths of a minor unit (`milli`), whole by lot and by FIFO, a Fraction by average.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Layer:
    """What came in at one cost, less what went back to where it came from."""

    count: int
    unit_milli: int


@dataclass(frozen=True, slots=True)
class Arrival:
    """Parts that came in, and how many lay there just before."""

    before: int
    count: int
    unit_milli: int


def fifo_milli(layers: Sequence[Layer], on_hand: int) -> int:
    """Worth of `on_hand` parts, the newest of the layers, which are given oldest first."""
    left, worth = on_hand, 0
    for layer in reversed(layers):
        taken = min(left, max(layer.count, 0))
        worth += taken * layer.unit_milli
        left -= taken
    # A clock that was put back can leave more on hand than came in by then; the oldest cost is all that is known of it.
    return worth + (left * layers[0].unit_milli if layers else 0)


def average_milli(arrivals: Iterable[Arrival]) -> Fraction | None:
    """Cost of one by the moving weighted average after these arrivals, in the order they came; None before the first."""
    average: Fraction | None = None
    for one in arrivals:
        there = max(one.before, 0) if average is not None else 0
        worth = there * (average or 0) + one.count * one.unit_milli
        average = Fraction(worth, there + one.count)
    return average


def lower_milli(cost_milli: int, realisable_milli: int) -> int:
    """Lower of cost and net realisable value (IAS 2, paragraph 9), item by item (paragraph 29)."""
    return min(cost_milli, realisable_milli)


def half_milli(unused_milli: int) -> int:
    """What a used valve fetches at most, beside an unused one (common practice, no source)."""
    return unused_milli // 2


def turns(cost_of_fitted_milli: int, average_stock_milli: Fraction) -> Fraction | None:
    """How often the stock went through the shop: cost of what was fitted over average stock at cost. None without stock."""
    return Fraction(cost_of_fitted_milli) / average_stock_milli if average_stock_milli else None


def coins(milli: int | Fraction) -> int:
    """Minor units of a sum of costs, rounded once, half up; costs are never below nothing."""
    return int(Fraction(milli) / 1000 + Fraction(1, 2))
