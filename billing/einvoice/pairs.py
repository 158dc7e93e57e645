"""Quantity and unit price of a line whose net sum is frozen: quantity x price must round to that sum exactly."""

from decimal import ROUND_HALF_UP, Decimal

from billing.einvoice.sums import rounded
from billing.einvoice.terms import HOUR, ONE

MINUTES_AN_HOUR = 60
MOST_PLACES = 12
# Three minutes are 0.05 h; other minutes have no exact decimal, and a quantity may not be rounded.
EXACT_MINUTES = 3


def price_of_one(net: Decimal, quantity: Decimal) -> Decimal:
    """The shortest price that comes to `net` again; with the currency's digits where that is enough."""
    digits = -int(net.as_tuple().exponent)
    for places in range(digits, MOST_PLACES):
        price = (net / quantity).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
        if rounded(quantity * price, net) == net:
            return price
    raise ValueError(f"{net} can't be shared by {quantity}")


def part_pair(net: Decimal, count: int) -> tuple[Decimal, str, Decimal]:
    """Quantity, unit code of UN/ECE Recommendation 20, price."""
    quantity = Decimal(max(count, 1))
    return quantity, ONE, price_of_one(net, quantity)


def labour_pair(net: Decimal, minutes: int) -> tuple[Decimal, str, Decimal]:
    """Hours where the minutes have an exact decimal; otherwise one piece of work at its sum."""
    if minutes <= 0 or minutes % EXACT_MINUTES:
        return Decimal(1), ONE, net
    hours = (Decimal(minutes) / MINUTES_AN_HOUR).quantize(Decimal("0.01"))
    return hours, HOUR, price_of_one(net, hours)
