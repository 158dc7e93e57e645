"""Totals of a bill: net, tax per category and rate, gross, due. Pure arithmetic in minor units, exact to the last one.

Lines carry their price as people agreed to it, with or without tax. Tax is rounded per line or once per rate, as the place
demands; halves go away from zero. The two ways can differ by a unit or two, which is why the way is part of the shop's profile
and frozen on every bill.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from shop.money import round_minor

HUNDRED_PERCENT_BP = 10_000
EXEMPT = "E"


@dataclass(frozen=True, slots=True)
class TaxKey:
    """A tax category (`S` standard, `Z` zero, `E` exempt, `O` outside) with its rate in basis points."""

    category: str
    rate_bp: int | Decimal


@dataclass(frozen=True, slots=True)
class Line:
    """One line: `count` (a Decimal for hours), a unit price in minor units, an optional discount in basis points."""

    count: Decimal
    unit_minor: Decimal
    tax: TaxKey
    discount_bp: int | Decimal = 0

    @property
    def amount_minor(self) -> int:
        kept = Decimal(HUNDRED_PERCENT_BP - self.discount_bp) / HUNDRED_PERCENT_BP
        return round_minor(self.count * self.unit_minor * kept)


@dataclass(frozen=True, slots=True)
class TaxedSum:
    tax: TaxKey
    taxable_minor: int
    tax_minor: int


@dataclass(frozen=True, slots=True)
class Totals:
    """`line_net_minor` is in the order of the lines and sums to `net_minor`; `due_minor` may be negative (money back)."""

    line_net_minor: tuple[int, ...]
    taxes: tuple[TaxedSum, ...]
    net_minor: int
    tax_minor: int
    gross_minor: int
    prepaid_minor: int

    @property
    def due_minor(self) -> int:
        return self.gross_minor - self.prepaid_minor

    @property
    def named_taxes(self) -> tuple[TaxedSum, ...]:
        """The sums that a paper names: all that are taxed or exempt, and beside those what is taxed at nothing or outside."""
        first = [one for one in self.taxes if one.tax.rate_bp or one.tax.category == EXEMPT]
        return self.taxes if first else ()


def tax_on_net(net_minor: int, rate_bp: int | Decimal) -> int:
    return round_minor(Decimal(net_minor) * rate_bp / HUNDRED_PERCENT_BP)


def tax_within(gross_minor: int, rate_bp: int | Decimal) -> int:
    return round_minor(Decimal(gross_minor) * rate_bp / (HUNDRED_PERCENT_BP + rate_bp))


def share_out(total: int, weights: list[int]) -> list[int]:
    """Split a whole number by weights so that the parts sum to it exactly (largest remainder)."""
    base = sum(weights)
    if base == 0:
        return [0 for _ in weights]
    exact = [Decimal(total) * weight / base for weight in weights]
    parts = [int(value.to_integral_value(rounding="ROUND_FLOOR")) for value in exact]
    order = sorted(range(len(weights)), key=lambda i: (parts[i] - exact[i], i))
    for i in order[: total - sum(parts)]:
        parts[i] += 1
    return parts


def _line_taxes(lines: list[Line], amounts: list[int], include_tax: bool) -> list[int]:
    reckon = tax_within if include_tax else tax_on_net
    return [reckon(amount, line.tax.rate_bp) for line, amount in zip(lines, amounts, strict=True)]


def _rate_taxes(lines: list[Line], amounts: list[int], include_tax: bool) -> list[int]:
    """Tax rounded once per rate, shared back over its lines so that line figures still add up."""
    reckon = tax_within if include_tax else tax_on_net
    taxes = [0] * len(lines)
    for key in {line.tax for line in lines}:
        places = [i for i, line in enumerate(lines) if line.tax == key]
        taxed = [amounts[i] for i in places]
        tax = reckon(sum(taxed), key.rate_bp)
        for place, part in zip(places, share_out(tax, taxed), strict=True):
            taxes[place] = part
    return taxes


def total(lines: Iterable[Line], *, prices_include_tax: bool, round_per_line: bool, prepaid_minor: int = 0) -> Totals:
    listed = list(lines)
    amounts = [line.amount_minor for line in listed]
    taxes = (_line_taxes if round_per_line else _rate_taxes)(listed, amounts, prices_include_tax)
    nets = [amount - (tax if prices_include_tax else 0) for amount, tax in zip(amounts, taxes, strict=True)]
    keys = sorted({line.tax for line in listed}, key=lambda key: (-key.rate_bp, key.category))
    sums = tuple(
        TaxedSum(
            key,
            sum(net for line, net in zip(listed, nets, strict=True) if line.tax == key),
            sum(tax for line, tax in zip(listed, taxes, strict=True) if line.tax == key),
        )
        for key in keys
    )
    net, tax = sum(nets), sum(taxes)
    return Totals(tuple(nets), sums, net, tax, net + tax, prepaid_minor)
