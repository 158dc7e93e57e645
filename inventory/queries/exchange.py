"""A supplier's money in the shop's, exactly; and what carriage a supplier's terms ask for."""

from fractions import Fraction

from inventory.models import Supplier
from shop.money import minor_digits

MILLION = 1_000_000


def exchanged(smallest: int | Fraction, theirs: str, ours: str, exchange_ppm: int) -> Fraction:
    """A sum in (thousandths of) the smallest coin of `theirs`, in the same share of the smallest coin of `ours`.

    `exchange_ppm` is what one whole unit of theirs costs in millionths of one of ours. The currencies' counts of decimals may
    differ (ISO 4217: none for JPY, three for KWD). Exact: rounding is the caller's.
    """
    if theirs == ours:
        return Fraction(smallest)
    return Fraction(smallest) * Fraction(exchange_ppm, MILLION) * Fraction(10) ** (minor_digits(ours) - minor_digits(theirs))


def whole(amount: Fraction) -> int:
    """The nearest whole number, halves away from zero."""
    size = int(abs(amount) + Fraction(1, 2))
    return size if amount >= 0 else -size


def amount_minor(count: int, unit_milli: int) -> int:
    """What `count` pieces come to, in whole smallest coins: each line of a paper is rounded, so that its lines add up."""
    return whole(Fraction(count * unit_milli, 1000))


def rate_of(supplier: Supplier, ours: str) -> int:
    """Millionths of the shop's unit that one of theirs costs; a million where both are the same."""
    return MILLION if (supplier.currency or ours) == ours else supplier.exchange_ppm


def carriage_by_terms(supplier: Supplier, goods_minor: int) -> int:
    """Carriage of one order of goods for this sum, both in the supplier's smallest coin."""
    free_from = supplier.carriage_free_from_minor
    return 0 if free_from is not None and goods_minor >= free_from else supplier.carriage_minor
