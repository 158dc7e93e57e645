"""Sums as people type them: read exactly, or refused with what would be accepted."""

from decimal import Decimal

import pytest
from babel.localedata import locale_identifiers
from babel.numbers import format_currency
from hypothesis import given
from hypothesis import strategies as st
from moneyed import Money

from shop.money import AmountError, as_minor, as_money, is_currency, plain, read_amount, round_minor, show, show_money

READ = [
    ("12", "GBP", 1200),
    ("12.50", "GBP", 1250),
    ("12,50", "EUR", 1250),
    ("12,5", "EUR", 1250),
    (".5", "GBP", 50),
    ("£12", "GBP", 1200),
    ("$ 7.25", "USD", 725),
    ("12.50 EUR", "EUR", 1250),
    ("1 250.00", "GBP", 125_000),
    ("1\u00a0250,00", "EUR", 125_000),
    ("1'250.00", "CHF", 125_000),
    ("1,250.00", "GBP", 125_000),
    ("1.250,00", "EUR", 125_000),
    ("1,250", "GBP", 125_000),
    ("1,250,000", "GBP", 125_000_000),
    ("1.250.000", "EUR", 125_000_000),
    ("1.250", "KWD", 1250),
    ("1250", "JPY", 1250),
    ("1,250", "JPY", 1250),
    ("-3.20", "GBP", -320),
    ("+3.20", "GBP", 320),
    ("0", "GBP", 0),
]


@pytest.mark.parametrize(("text", "currency", "minor"), READ)
def test_read(text: str, currency: str, minor: int) -> None:
    assert read_amount(text, currency) == minor


REFUSED = [
    ("", "GBP", "can't be read as a sum. Type it like 12.50."),
    ("twelve", "GBP", "can't be read as a sum. Type it like 12.50."),
    ("12.345", "GBP", "has more than 2 decimals; GBP has 2."),
    ("12.5", "JPY", "has more than 0 decimals; JPY has 0."),
    ("1.2.3", "GBP", "has two decimal signs."),
    ("12-", "GBP", "can't be read as a sum. Type it like 12.50."),
    ("1e9", "GBP", "can't be read as a sum. Type it like 12.50."),
    ("١٢", "GBP", "can't be read as a sum. Type it like 12.50."),
    ("NaN", "GBP", "can't be read as a sum. Type it like 12.50."),
    ("9" * 20, "GBP", "is larger than any sum this shop can book."),
    ("9" * 200, "GBP", "can't be read as a sum. Type it like 12.50."),
]


@pytest.mark.parametrize(("text", "currency", "told"), REFUSED)
def test_refused_in_words(text: str, currency: str, told: str) -> None:
    with pytest.raises(AmountError) as refused:
        read_amount(text, currency)
    assert str(refused.value).endswith(told)


@given(minor=st.integers(-(10**13), 10**13), currency=st.sampled_from(["GBP", "EUR", "JPY", "KWD", "CHF"]))
def test_what_is_written_plainly_is_read_back(minor: int, currency: str) -> None:
    assert read_amount(plain(minor, currency), currency) == minor
    assert as_minor(as_money(minor, currency)) == minor


@given(text=st.text(max_size=60))
def test_any_text_is_read_or_refused_never_guessed_wild(text: str) -> None:
    try:
        minor = read_amount(text, "GBP")
    except AmountError:
        return
    assert isinstance(minor, int)
    assert abs(minor) <= 10**13


def test_money_finer_than_a_coin_is_refused() -> None:
    with pytest.raises(AmountError, match="finer than the currency's smallest unit"):
        as_minor(Money(Decimal("1.005"), "GBP"))


@pytest.mark.parametrize(("value", "rounded"), [("0.5", 1), ("-0.5", -1), ("1.4999", 1), ("2.5", 3)])
def test_halves_go_away_from_zero(value: str, rounded: int) -> None:
    assert round_minor(Decimal(value)) == rounded


def test_shown_by_locale_and_never_failing_on_an_unknown_one() -> None:
    assert show(125_000, "GBP") == "£1,250.00"
    assert show(1250, "JPY") == "JP¥1,250"
    assert show(125_000, "GBP", "xx_XX") == "£1,250.00"
    assert "1.250,00" in show(125_000, "EUR", "de_DE")


def test_currencies_are_known_by_their_code() -> None:
    assert is_currency("GBP")
    assert not is_currency("GBX")


@pytest.mark.parametrize("currency", ["EUR", "JPY", "KWD"])
def test_a_sum_is_written_as_the_locale_s_own_data_say(currency: str) -> None:
    """Against Babel's formatting by the Unicode CLDR, in every locale that it has: https://cldr.unicode.org."""
    digits = len(show(0, currency, "en_GB").partition(".")[2])
    pattern = "¤#,##0" + ("." + "0" * digits if digits else "")
    for locale in locale_identifiers():
        for minor in (0, 7, -99, 123_456, -98_765_432_101):
            money = as_money(minor, currency)
            assert show(minor, currency, locale) == show_money(money, locale)
            assert show(minor, currency, locale) == format_currency(
                money.amount, currency, pattern, locale=locale, currency_digits=False
            )
