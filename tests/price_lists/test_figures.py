"""Prices and counts, by the decimal sign that was confirmed."""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.price_lists.figures import read_breaks, read_count, read_days, read_price
from inventory.price_lists.problems import LineFault


@pytest.mark.parametrize(
    ("text", "sign", "milli"),
    [
        ("1.234", ".", 123_400),
        ("1.234", ",", 123_400_000),
        ("1,234", ".", 123_400_000),
        ("1,234", ",", 123_400),
        ("0.00001", ".", 1),
        ("0.000010000", ".", 1),
        ("12", ".", 1_200_000),
        (".5", ".", 50_000),
        ("1 234,50", ",", 123_450_000),
        ("1'234.50", ".", 123_450_000),
        ("1\u00a0234,50", ",", 123_450_000),
        ("£ 0.42", ".", 42_000),
        ("0.42 GBP", ".", 42_000),
        ("1,234,567.89", ".", 123_456_789_000),
    ],
)
def test_a_price_is_read_exactly(text: str, sign: str, milli: int) -> None:
    assert read_price(text, sign, 2, "GBP") == milli


@pytest.mark.parametrize(("digits", "milli"), [(0, 12_000), (2, 1_200_000), (3, 12_000_000)])
def test_the_currencys_decimals_count(digits: int, milli: int) -> None:
    """ISO 4217: yen have none, pounds two, Kuwaiti dinars three; tests/outside/data/iso4217_minor_units.csv lists them."""
    assert read_price("12", ".", digits, "XXX") == milli


@pytest.mark.parametrize(
    ("text", "sign", "said"),
    [
        ("1,23", ".", "The price “1,23” can't be read where “.” is the decimal sign."),
        ("1.23", ",", "The price “1.23” can't be read where “,” is the decimal sign."),
        ("1.2.3", ".", "The price “1.2.3” can't be read where “.” is the decimal sign."),
        ("12,34,567", ".", "The price “12,34,567” can't be read where “.” is the decimal sign."),
        ("1e3", ".", "The price “1e3” can't be read where “.” is the decimal sign."),
        ("１２", ".", "The price “１２” can't be read where “.” is the decimal sign."),
        ("on request", ".", "The price “on request” can't be read where “.” is the decimal sign."),
        ("-1", ".", "The price “-1” is below zero."),
        ("0.00", ".", "The price is 0. Ask the supplier what it costs."),
        ("0.000001", ".", "The price “0.000001” is finer than a thousandth of the smallest coin."),
        ("9" * 30, ".", f"The price “{'9' * 30}” is larger than any this shop can book."),
        ("€ 1.00", ".", "The price “€ 1.00” is in EUR, the list in GBP."),
    ],
)
def test_what_is_no_price_is_said(text: str, sign: str, said: str) -> None:
    with pytest.raises(LineFault) as fault:
        read_price(text, sign, 2, "GBP")
    assert fault.value.message == said


@given(milli=st.integers(1, 10**12), sign=st.sampled_from(".,"), digits=st.sampled_from([0, 2, 3]), grouped=st.booleans())
def test_any_price_written_is_read_back(milli: int, sign: str, digits: int, grouped: bool) -> None:
    whole, rest = divmod(milli, 10 ** (digits + 3))
    shown = f"{whole:,}".replace(",", "." if sign == "," else ",") if grouped else str(whole)
    assert read_price(f"{shown}{sign}{rest:0{digits + 3}}", sign, digits, "GBP") == milli


@given(text=st.text(max_size=12), sign=st.sampled_from(".,"))
def test_any_text_is_a_price_or_a_fault(text: str, sign: str) -> None:
    with contextlib.suppress(LineFault):
        assert read_price(text, sign, 2, "GBP") > 0


def test_prices_by_count_in_one_cell() -> None:
    assert read_breaks("1: 0,30; 10+: 0,25 | 100=0,20", ",", 2, "GBP") == {1: 30_000, 10: 25_000, 100: 20_000}
    assert read_breaks("1:0.30\n10:0.25;", ".", 2, "GBP") == {1: 30_000, 10: 25_000}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0.30", "“0.30” is no count with its price, such as 10: 0.25."),
        ("1: 0.3; 1: 0.2", "There are two prices from 1 on."),
        ("x: 0.3", "“x” can't be a count: a whole number from 1 to 1,000,000 is wanted."),
        ("1: 0,3", "The price “0,3” can't be read where “.” is the decimal sign."),
    ],
)
def test_doubtful_prices_by_count_are_said(text: str, said: str) -> None:
    with pytest.raises(LineFault) as fault:
        read_breaks(text, ".", 2, "GBP")
    assert fault.value.message == said


def test_counts_and_days() -> None:
    assert [read_count(text, "x") for text in ("", "1", "10", "10.0")] == [1, 1, 10, 10]
    assert [read_days(text) for text in ("", "0", "14", "3 days", "5d")] == ["", 0, 14, 3, 5]
    for text in ("0", "-1", "1.5", "1e3", "²", "10000000"):
        with pytest.raises(LineFault):
            read_count(text, "x")
    for text in ("soon", "-1", "99999"):
        with pytest.raises(LineFault):
            read_days(text)
