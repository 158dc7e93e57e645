"""Properties of a bill's totals: whatever the lines, the tax and the rounding, the sums are exact."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.totals import Line, TaxKey, Totals, share_out, tax_on_net, tax_within, total

amounts = st.integers(-(10**9), 10**9)
rates = st.sampled_from([0, 500, 550, 700, 1900, 2000, 2500])
lines = st.lists(
    st.builds(
        Line,
        count=st.decimals("0.01", "500", places=2),
        unit_minor=st.decimals("0", "1000000", places=3),
        tax=st.builds(TaxKey, st.just("S"), rates),
        discount_bp=st.integers(0, 10_000),
    ),
    max_size=25,
)


def reckon(rows: list[Line], include: bool, per_line: bool, prepaid: int = 0) -> Totals:
    return total(rows, prices_include_tax=include, round_per_line=per_line, prepaid_minor=prepaid)


@given(rows=lines, include=st.booleans(), per_line=st.booleans(), prepaid=st.integers(0, 10**9))
def test_net_and_tax_make_gross_and_the_lines_make_the_net(rows: list[Line], include: bool, per_line: bool, prepaid: int) -> None:
    totals = reckon(rows, include, per_line, prepaid)
    assert totals.gross_minor == totals.net_minor + totals.tax_minor
    assert totals.net_minor == sum(totals.line_net_minor) == sum(tax.taxable_minor for tax in totals.taxes)
    assert totals.tax_minor == sum(tax.tax_minor for tax in totals.taxes)
    assert totals.due_minor == totals.gross_minor - prepaid


@given(rows=lines, per_line=st.booleans())
def test_prices_with_tax_make_the_gross_and_prices_without_make_the_net(rows: list[Line], per_line: bool) -> None:
    priced = sum(line.amount_minor for line in rows)
    assert reckon(rows, True, per_line).gross_minor == priced
    assert reckon(rows, False, per_line).net_minor == priced


@given(rows=lines, include=st.booleans())
def test_tax_rounded_once_a_rate_is_within_half_a_unit_of_the_exact_tax(rows: list[Line], include: bool) -> None:
    for tax in reckon(rows, include, per_line=False).taxes:
        priced = sum(line.amount_minor for line in rows if line.tax == tax.tax)
        below = 10_000 + tax.tax.rate_bp if include else 10_000
        assert abs(Decimal(priced) * tax.tax.rate_bp / below - tax.tax_minor) <= Decimal("0.5")


@given(rows=lines, include=st.booleans())
def test_both_ways_of_rounding_differ_by_at_most_half_a_unit_a_line_and_half_a_rate(rows: list[Line], include: bool) -> None:
    apart = abs(reckon(rows, include, True).tax_minor - reckon(rows, include, False).tax_minor)
    assert apart <= (len(rows) + len({line.tax for line in rows})) / 2


@given(rows=lines, include=st.booleans(), per_line=st.booleans())
def test_the_order_of_lines_changes_no_total(rows: list[Line], include: bool, per_line: bool) -> None:
    there, back = reckon(rows, include, per_line), reckon(rows[::-1], include, per_line)
    assert (there.net_minor, there.tax_minor, there.taxes) == (back.net_minor, back.tax_minor, back.taxes)


@given(whole=amounts, weights=st.lists(st.integers(0, 10**7), min_size=1, max_size=30))
def test_what_is_shared_out_adds_up_and_no_share_is_off_by_a_unit(whole: int, weights: list[int]) -> None:
    parts = share_out(whole, weights)
    if sum(weights) == 0:
        assert parts == [0] * len(weights)
        return
    assert sum(parts) == whole
    assert all(abs(part - Decimal(whole) * weight / sum(weights)) < 1 for part, weight in zip(parts, weights, strict=True))


@given(rows=lines)
def test_a_line_of_nothing_bears_no_tax(rows: list[Line]) -> None:
    free = Line(Decimal(1), Decimal(0), TaxKey("S", 2000))
    assert reckon([free, *rows], False, False).line_net_minor[0] == 0


@given(net=st.integers(0, 10**10), rate=rates)
def test_tax_taken_out_of_a_gross_is_the_tax_that_was_put_on(net: int, rate: int) -> None:
    tax = tax_on_net(net, rate)
    assert abs(tax_within(net + tax, rate) - tax) <= 1


@pytest.mark.parametrize(("net", "rate", "tax"), [(25, 1000, 3), (-25, 1000, -3), (24, 1000, 2), (1, 5000, 1)])
def test_halves_go_away_from_zero(net: int, rate: int, tax: int) -> None:
    assert tax_on_net(net, rate) == tax


def test_the_two_ways_can_differ_which_is_why_the_way_is_frozen() -> None:
    rows = [Line(Decimal(1), Decimal(12), TaxKey("S", 2000))] * 3
    assert (reckon(rows, False, True).tax_minor, reckon(rows, False, False).tax_minor) == (6, 7)


def test_the_highest_rate_comes_first() -> None:
    rows = [Line(Decimal(1), Decimal(100), TaxKey("S", rate)) for rate in (500, 2000, 0)]
    assert [tax.tax.rate_bp for tax in reckon(rows, False, False).taxes] == [2000, 500, 0]


def test_a_bill_without_lines_comes_to_nothing() -> None:
    assert reckon([], False, False) == Totals((), (), 0, 0, 0, 0)
