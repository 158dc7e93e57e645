"""Numbers that are typed as the trade writes them: markings, ratings, tolerances, costs finer than a coin."""

import re
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError

from inventory.components.notation import NotationError, Spec, read_notation
from shop.money import AmountError, minor_digits, read_amount
from shop.web.forms import MoneyField, NotationField

FINER_DIGITS = 3
_FINE = re.compile(r"(\d{1,9})[.,](\d{1,6})")
_BAND = re.compile(r"-\s*(\d+(?:\.\d+)?)\s*%?\s*[/ ]?\s*\+\s*(\d+(?:\.\d+)?)\s*%?")
_EVEN = re.compile(r"(?:±|\+/?-)?\s*(\d+(?:\.\d+)?)\s*%?")


class RatingField(NotationField):
    """A voltage or wattage, its unit understood: `630`, `630 V`, `1/2`; cleans to a float, None where left empty."""

    def __init__(self, *, quantity: str, **kwargs: Any) -> None:
        self.quantity = quantity
        super().__init__(**{"max_length": 20, "required": False, **kwargs})

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if isinstance(text, str) and text:
            return float(_read(text, self.quantity).value)
        return None

    def prepare_value(self, value: Any) -> Any:
        return f"{value:g}" if isinstance(value, float) else value


def _read(text: str, quantity: str) -> Spec:
    try:
        return read_notation(text, quantity)
    except NotationError as error:
        raise ValidationError(error.message, code=error.code) from error


class ToleranceField(NotationField):
    """`10`, `±10 %`, `-20/+80`; cleans to signed (low, high) percents, None where left empty."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_length": 20, "required": False, **kwargs})

    def clean(self, value: Any) -> Any:
        text = str(super().clean(value) or "").replace(",", ".").replace("−", "-").replace("–", "-")
        if not text:
            return None
        if band := _BAND.fullmatch(text):
            low, high = float(band[1]), float(band[2])
        elif even := _EVEN.fullmatch(text):
            low = high = float(even[1])
        else:
            raise ValidationError("Write a tolerance like 10, or -20/+80.", code="unreadable")
        if low > 100 or high > 500:
            raise ValidationError("No part has a tolerance as wide as that. Write it in percent, like 10 or -20/+80.")
        return (-low, high)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, tuple):
            return value
        low, high = value
        return f"{high:g}" if -low == high else f"{low:g}/+{high:g}"


class CostField(MoneyField):
    """A sum that may be finer than a coin, for small parts by the hundred; cleans to thousandths of a minor unit."""

    def clean(self, value: Any) -> Any:
        text = super(MoneyField, self).clean(value)
        if text == "":
            return None
        milli = read_milli(text, self.currency)
        if milli < 0:
            raise ValidationError("A cost can't be below zero.", code="negative")
        return milli

    def prepare_value(self, value: Any) -> Any:
        return plain_milli(value, self.currency) if isinstance(value, int) else value


def read_milli(text: str, currency: str) -> int:
    """Thousandths of a minor unit. `1.250` stays refused: it may be a thousand written the continental way."""
    try:
        return read_amount(text, currency) * 1000
    except AmountError as error:
        digits = minor_digits(currency)
        found = _FINE.fullmatch(text.strip(" £$€"))
        finer = len(found[2].rstrip("0")) if found else 0
        if found is None or finer > digits + FINER_DIGITS or (len(found[2]) == 3 and found[1] != "0"):
            raise ValidationError(str(error), code="unreadable") from error
        return int(Decimal(f"{found[1]}.{found[2]}").scaleb(digits + FINER_DIGITS))


def plain_milli(milli: int, currency: str) -> str:
    """What `read_milli` reads back: a third decimal never stands alone, as that may be a thousand."""
    digits = minor_digits(currency)
    exact = f"{Decimal(milli).scaleb(-digits - FINER_DIGITS):f}"
    whole, _, finer = exact.partition(".")
    kept = finer.rstrip("0").ljust(digits, "0")
    if len(kept) == 3 and digits != 3 and whole != "0":
        kept += "0"
    return f"{whole}.{kept}" if kept else whole
