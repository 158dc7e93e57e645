"""Money on charts: as short as an axis wants it, and exact for the table beside it. Values are minor units."""

from collections.abc import Iterable

from babel.core import UnknownLocaleError
from babel.numbers import format_currency

from shop.money import DEFAULT_LOCALE, as_money, minor_digits
from shop.paper.charts.axes import Write
from shop.paper.styles import can_print
from shop.paper.text import clean
from shop.paper.wording import show_sum


def exact_sums(currency: str, locale: str) -> Write:
    """`£1,234.50`"""
    return lambda value: show_sum(as_money(round(value), currency), locale)


def round_sums(currency: str, locale: str, values: Iterable[float]) -> Write:
    """`£1,235`; exact where the largest of the values is less than twenty of the currency's units."""
    unit = 10 ** minor_digits(currency)
    if max(map(abs, values), default=0) < 20 * unit:
        return exact_sums(currency, locale)
    return lambda value: _whole(round(value / unit), currency, locale)


def _whole(units: int, currency: str, locale: str) -> str:
    """A locale that nobody knows, or a sign that the fonts lack, is no reason for a chart without figures."""
    try:
        written = format_currency(units, currency, "¤#,##0", locale=locale, currency_digits=False)
    except (UnknownLocaleError, ValueError):
        written = ""
    if written and can_print(clean(written)):
        return written
    return format_currency(units, currency, "¤#,##0", locale=DEFAULT_LOCALE, currency_digits=False)
