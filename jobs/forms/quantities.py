"""Fields that read one figure: a value with its unit, or a plain number."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.exceptions import ValidationError

from inventory.components.notation import NotationError, read_measured
from shop.web.fields import NotationField


class QuantityField(NotationField):
    """A value of one kind (`14 W`, `270`); cleans to Decimal in its base unit, or None where left empty."""

    def __init__(self, kind: str, **kwargs: Any) -> None:
        self.kind = kind
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            return read_measured(text, self.kind).value
        except NotationError as error:
            raise ValidationError(error.message, code=error.code) from error


class FigureField(NotationField):
    """A plain number with point or comma; cleans to Decimal, or None where left empty."""

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            found = Decimal(text.replace(",", "."))
        except InvalidOperation as error:
            raise ValidationError(f"“{text[:40]}” is no number. Type it like 2.5.", code="unreadable") from error
        if not found.is_finite() or abs(found) > 10**12:
            raise ValidationError("That number is beyond anything a radio has. Type it like 2.5.", code="out_of_range")
        return found
