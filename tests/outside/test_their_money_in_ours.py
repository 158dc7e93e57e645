"""Sums in a supplier's currency, brought to the shop's.

The counts of decimals are those of ISO 4217, as the package `iso4217` takes them from list one of the standard; the sums are
worked by hand.
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from iso4217 import Currency

from inventory.queries.exchange import amount_minor, exchanged, whole
from shop.money import minor_digits

CODES = ("GBP", "EUR", "USD", "JPY", "KWD", "BHD", "ISK", "CLF")


@pytest.mark.parametrize("code", CODES)
def test_decimals_are_those_of_iso_4217(code: str) -> None:
    assert minor_digits(code) == Currency(code).exponent


@pytest.mark.parametrize(
    ("smallest", "theirs", "ours", "rate_ppm", "expected"),
    [
        # 12.50 EUR at 0.86 are 10.75 GBP.
        (1_250, "EUR", "GBP", 860_000, 1_075),
        # 1,850 JPY at 0.0053 are 9.805 GBP, 980.5 pence.
        (1_850, "JPY", "GBP", 5_300, Fraction(1961, 2)),
        # 3.125 KWD at 2.60 are 8.125 GBP.
        (3_125, "KWD", "GBP", 2_600_000, Fraction(1625, 2)),
        # 9.80 GBP at 190.5 are 1,866.9 JPY.
        (980, "GBP", "JPY", 190_500_000, Fraction(18669, 10)),
        # 1,000 JPY at 0.002041 are 2.041 KWD.
        (1_000, "JPY", "KWD", 2_041, 2_041),
        # The shop's own money, whatever the rate says.
        (1_250, "GBP", "GBP", 860_000, 1_250),
    ],
)
def test_sums_in_other_money(smallest: int, theirs: str, ours: str, rate_ppm: int, expected: Fraction | int) -> None:
    assert exchanged(smallest, theirs, ours, rate_ppm) == expected


@given(
    st.integers(0, 10**12),
    st.sampled_from(CODES),
    st.sampled_from(CODES),
    st.integers(1, 10**9),
)
def test_whole_units_at_the_rate_whatever_the_decimals(smallest: int, theirs: str, ours: str, rate_ppm: int) -> None:
    """The definition: whole units of theirs times the rate are whole units of ours."""
    units = Fraction(smallest, 10 ** Currency(theirs).exponent)
    rate = Fraction(rate_ppm, 1_000_000) if theirs != ours else 1
    assert exchanged(smallest, theirs, ours, rate_ppm) == units * rate * 10 ** Currency(ours).exponent


@pytest.mark.parametrize(("amount", "rounded"), [("5/2", 3), ("-5/2", -3), ("12/5", 2), ("-12/5", -2), ("0", 0)])
def test_halves_go_away_from_zero(amount: str, rounded: int) -> None:
    assert whole(Fraction(amount)) == rounded


def test_a_line_is_rounded_once() -> None:
    assert amount_minor(3, 20_500) == 62, "61.5 pence"
    assert amount_minor(1000, 5) == 5, "a thousand at half a hundredth of a penny"
