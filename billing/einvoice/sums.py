"""Our own arithmetic check of an electronic invoice: exact to the last digit, where the official rules are not.

The published rules let a rate's tax be off by almost 1.00 (BR-CO-17) and never look at quantity x price. Here everything
is exact but one thing: the tax that the paper charged stands, and where it was rounded line by line, taken out of prices that
held it, or credited in part, it may differ from rate x base by the halves of a unit that this brings, and by no more.
"""

from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal

from billing.einvoice.terms import EInvoice, RateSum

HALF = Decimal("0.5")
HUNDRED = Decimal(100)


def rounded(value: Decimal, like: Decimal) -> Decimal:
    """`value` with the digits of `like`, halves away from zero."""
    return value.quantize(like, rounding=ROUND_HALF_UP)


def differences(told: EInvoice) -> list[str]:
    """What doesn't add up, in words; empty for every invoice that may leave the house."""
    return [*_lines(told), *_rates(told), *_totals(told)]


def _lines(told: EInvoice) -> Iterator[str]:
    for item in told.items:
        if rounded(item.quantity * item.price, told.net) != item.net:
            yield f"Line {item.order}: {item.quantity} x {item.price} is not {item.net}."


def _rates(told: EInvoice) -> Iterator[str]:
    if {item.rate for item in told.items} != {row.rate for row in told.taxes}:
        yield "The rates of the lines are not those of the breakdown."
    for row in told.taxes:
        items = [item for item in told.items if item.rate == row.rate]
        if sum((item.net for item in items), Decimal(0)) != row.taxable:
            yield f"The lines at {row.rate} don't sum to {row.taxable}."
        if abs(_exact_tax(row) - row.tax) > _slack(row, len(items), told):
            yield f"{row.tax} is not the tax at {row.rate} on {row.taxable}."


def off_by(told: EInvoice) -> list[tuple[RateSum, Decimal]]:
    """Rates whose tax, as the paper charged it, isn't rate x base rounded once: by how much. Some receivers look at that."""
    found = ((row, row.tax - rounded(_exact_tax(row), told.net)) for row in told.taxes)
    return [(row, amount) for row, amount in found if amount]


def _exact_tax(row: RateSum) -> Decimal:
    return row.taxable * (row.rate.percent or 0) / HUNDRED


def _slack(row: RateSum, lines: int, told: EInvoice) -> Decimal:
    """Half a unit a line, as much again for what that moves the base, half a unit for the rate; a note also takes up what
    the notes before it rounded."""
    unit = Decimal(1).scaleb(int(told.net.as_tuple().exponent))
    halves = lines * (1 + (row.rate.percent or 0) / HUNDRED) + 1
    return unit * HALF * halves * (2 if told.is_credit else 1)


def _totals(told: EInvoice) -> Iterator[str]:
    sums = (
        ("The lines", sum((item.net for item in told.items), Decimal(0)), told.net),
        ("The taxes", sum((row.tax for row in told.taxes), Decimal(0)), told.tax),
        ("Net and tax", told.net + told.tax, told.gross),
        ("The total less what was prepaid", told.gross - told.prepaid, told.due),
    )
    for what, reckoned, said in sums:
        if reckoned != said:
            yield f"{what} come to {reckoned}, not {said}."
