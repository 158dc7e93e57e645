"""The day that a year's end is asked for. It comes in the address, so it is read leniently."""

from datetime import date
from typing import Any

from django import forms

from inventory.forms.valuing import PastDayField
from shop.web.forms import MoneyField


class YearEndForm(forms.Form):
    """What can't be read is said, and the last year's end is shown with today's cost of an hour."""

    day = PastDayField(label="At the end of", required=False)
    hour_cost = MoneyField(label="An hour cost then", required=False, help_text="Empty: what it costs today.")

    def __init__(self, *args: Any, today: date, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        self.today = today
        for field in self.fields.values():
            if isinstance(field, PastDayField):
                field.today = today
            if isinstance(field, MoneyField):
                field.currency = currency

    def _typed(self, name: str) -> Any:
        self.is_valid()
        return self.cleaned_data.get(name) if self.is_bound else None

    @property
    def asked_day(self) -> date:
        return self._typed("day") or date(self.today.year - 1, 12, 31)

    @property
    def asked_hour_cost(self) -> int | None:
        found: int | None = self._typed("hour_cost")
        return found
