"""How days, moments, lasting times, shares and sums are written on paper, by the shop's locale."""

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal

from babel.core import UnknownLocaleError
from babel.dates import format_date, format_datetime
from moneyed import Money

from shop.money import DEFAULT_LOCALE, show_fine, show_money
from shop.paper.styles import can_print
from shop.paper.text import clean


def _by_locale(write: Callable[[str], str], locale: str) -> str:
    """A locale that nobody knows must not stop a bill, and a sum in letters that the fonts lack must not become boxes."""
    try:
        written = write(locale)
    except (UnknownLocaleError, ValueError):
        return write(DEFAULT_LOCALE)
    return written if can_print(clean(written)) else write(DEFAULT_LOCALE)


def show_day(day: date | None, locale: str) -> str:
    return _by_locale(lambda known: format_date(day, "long", locale=known), locale) if day else ""


def show_short_day(day: date | None, locale: str) -> str:
    """For narrow columns: `3 Mar 2031`."""
    return _by_locale(lambda known: format_date(day, "medium", locale=known), locale) if day else ""


def show_moment(moment: datetime, locale: str) -> str:
    """Day and minute in the time zone that the moment carries."""
    return _by_locale(lambda known: format_datetime(moment, "d MMMM y, HH:mm", locale=known), locale)


def show_lasting(minutes: int) -> str:
    """`1 h 30 min`, `45 min`, `2 h`."""
    hours, rest = divmod(minutes, 60)
    return " ".join(part for part in (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else "") if part)


def show_percent(percent: Decimal) -> str:
    return f"{percent.normalize():f} %"


def show_sum(money: Money | None, locale: str) -> str:
    return _by_locale(lambda known: show_money(money, known), locale) if money is not None else ""


def show_fine_sum(milli: int, currency: str, locale: str) -> str:
    """Thousandths of the smallest coin, as small parts cost less than one."""
    return _by_locale(lambda known: show_fine(milli, currency, known), locale)


def show_range(low: Money, high: Money, locale: str) -> str:
    """One sum where both ends are the same."""
    return show_sum(low, locale) if low == high else f"{show_sum(low, locale)} – {show_sum(high, locale)}"
