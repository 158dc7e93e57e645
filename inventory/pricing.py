"""What a part sells for: its list price where it has one, else the lot's cost times the rung of the shop's markup ladder."""

from collections.abc import Sequence
from fractions import Fraction

from inventory.models import Lot, Part
from shop.models import MarkupStep

# Sliding markup, high on pennies and low on dear parts (common practice, no source); the owner's own ladder replaces it.
DEFAULT_LADDER: tuple[tuple[int, int], ...] = ((50, 300), (200, 250), (1000, 200), (5000, 160))
ABOVE_PERCENT = 130


def ladder() -> tuple[tuple[int, int], ...]:
    """Rungs (unit cost up to, minor units; selling price in % of cost), cheapest first."""
    steps = tuple(MarkupStep.objects.values_list("cost_up_to_minor", "factor_percent"))
    return steps or DEFAULT_LADDER


def rung_percent(unit_cost_minor: Fraction, steps: Sequence[tuple[int, int]]) -> int:
    """Selling price in % of cost at the rung this cost stands on; above the last rung, the factor for dear parts."""
    return next((percent for up_to, percent in steps if unit_cost_minor <= up_to), ABOVE_PERCENT)


def marked_up(unit_cost_minor: Fraction, steps: Sequence[tuple[int, int]]) -> int:
    """Selling price of one, in whole minor units, never below one for a part that cost something."""
    price = unit_cost_minor * rung_percent(unit_cost_minor, steps) / 100
    whole = int(price + Fraction(1, 2))
    return max(whole, 1) if unit_cost_minor else 0


def unit_price_minor(part: Part, lot: Lot, steps: Sequence[tuple[int, int]] | None = None) -> int:
    if part.list_price_minor is not None:
        return part.list_price_minor
    return marked_up(lot.unit_cost_minor, ladder() if steps is None else steps)
