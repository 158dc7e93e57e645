"""Prices and counts as a list writes them, by the decimal sign that a person confirmed: `1.234` is never guessed at.

All prices are whole thousandths of the smallest coin; what is finer is refused, not rounded.
"""

import re
from functools import lru_cache

from inventory.price_lists.caps import LARGEST_COUNT, LARGEST_MILLI, LONGEST_LEAD_DAYS
from inventory.price_lists.problems import LineFault

THOUSANDTHS = 3
# Signs that are of one currency only; a dollar or a crown may be of many, and says nothing against any of them.
_OF_ONE = {"€": "EUR", "£": "GBP", "¥": "JPY", "₹": "INR", "₽": "RUB", "zł": "PLN", "Kč": "CZK", "Ft": "HUF"}
_OF_MANY = ("$", "kr.", "kr", "Fr.")
_SPACES = str.maketrans("", "", " \u00a0\u202f\u2009\t")
_DAYS = re.compile(r"(\d{1,4})\s*(?:d|days?|working days?)?", re.I | re.A)


@lru_cache(maxsize=4)
def _shapes(sign: str) -> tuple[re.Pattern[str], str]:
    """A number with its groups in threes, and the sign that groups."""
    group = "," if sign == "." else "."
    return re.compile(rf"(?:\d{{1,3}}(?:[{re.escape(group)}']\d{{3}})+|\d+)?(?:{re.escape(sign)}\d+)?", re.A), group


def read_price(text: str, sign: str, digits: int, currency: str) -> int:
    """Thousandths of the smallest coin. `digits`: decimals of the currency by ISO 4217. Raises LineFault."""
    whole, _, rest = text.partition(sign)
    places = digits + THOUSANDTHS
    if not (whole.isdecimal() and whole.isascii() and (rest.isdecimal() or not rest) and rest.isascii() and len(rest) <= places):
        return _by_all_means(text, sign, places, currency)
    return _within(int(whole + rest.ljust(places, "0")) if len(whole) < 20 else LARGEST_MILLI + 1, text)


def _by_all_means(text: str, sign: str, places: int, currency: str) -> int:
    bare = _without_currency(text, currency).translate(_SPACES)
    pattern, group = _shapes(sign)
    if bare.startswith(("-", "−", "(")):
        raise LineFault(f"The price “{_short(text)}” is below zero.")
    if not pattern.fullmatch(bare) or not any(c.isdigit() for c in bare):
        raise LineFault(f"The price “{_short(text)}” can't be read where “{sign}” is the decimal sign.")
    whole, _, rest = bare.replace(group, "").replace("'", "").partition(sign)
    if len(rest.rstrip("0")) > places:
        raise LineFault(f"The price “{_short(text)}” is finer than a thousandth of the smallest coin.")
    return _within(int((whole or "0") + rest[:places].ljust(places, "0")) if len(whole) < 20 else LARGEST_MILLI + 1, text)


def _within(milli: int, text: str) -> int:
    if milli > LARGEST_MILLI:
        raise LineFault(f"The price “{_short(text)}” is larger than any this shop can book.")
    if milli == 0:
        raise LineFault("The price is 0. Ask the supplier what it costs.")
    return milli


def _without_currency(text: str, currency: str) -> str:
    bare = text.strip()
    for mark, of in _OF_ONE.items():
        if mark in bare and of != currency:
            raise LineFault(f"The price “{_short(text)}” is in {of}, the list in {currency}.")
    for mark in (currency, *_OF_ONE, *_OF_MANY):
        if bare.startswith(mark):
            return bare[len(mark) :]
        if bare.endswith(mark):
            return bare[: -len(mark)]
    return bare


def _short(text: str) -> str:
    return text.strip()[:40]


def read_count(text: str, what: str, sign: str = ".") -> int:
    """A whole number from 1; an empty text is 1. A workbook's 10.0 is 10."""
    if text.isdecimal() and text.isascii() and len(text) < 8:
        found = int(text)
    elif not text:
        return 1
    else:
        whole, _, rest = text.partition(sign)
        good = whole.isdecimal() and whole.isascii() and len(whole) < 8 and rest and not rest.strip("0")
        found = int(whole) if good else 0
    if not 1 <= found <= LARGEST_COUNT:
        raise LineFault(f"“{_short(text)}” can't be {what}: a whole number from 1 to {LARGEST_COUNT:,} is wanted.")
    return found


def read_days(text: str) -> int | str:
    """Days, or an empty text where nothing is said."""
    if not text:
        return ""
    found = _DAYS.fullmatch(text)
    if not found or int(found[1]) > LONGEST_LEAD_DAYS:
        raise LineFault(f"“{_short(text)}” can't be read as days until it comes.")
    return int(found[1])


def read_breaks(text: str, sign: str, digits: int, currency: str) -> dict[int, int]:
    """`1: 0.30; 10: 0.25` or `1=0.30 | 10=0.25`, also line by line; prices in thousandths by count."""
    found: dict[int, int] = {}
    for pair in re.split(r"[;|\n\r]+", text):
        if not pair.strip():
            continue
        count, parted, price = pair.replace("=", ":").partition(":")
        if not parted:
            raise LineFault(f"“{_short(pair)}” is no count with its price, such as 10: 0.25.")
        from_count = read_count(count.strip().rstrip("+") or "0", "a count")
        if from_count in found:
            raise LineFault(f"There are two prices from {from_count} on.")
        found[from_count] = read_price(price.strip(), sign, digits, currency)
    return found
