"""Days that a page of the books asks for. They come in the address, so they are read leniently and never stop the page."""

from datetime import date
from typing import Any

from django import forms

from billing.queries.periods import Period, periods_until, read_period
from shop.web.forms import DayField


class DaysForm(forms.Form):
    """From a day to a day; both may be left open."""

    first = DayField(label="From", required=False)
    last = DayField(label="Until", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)

    def clean(self) -> dict[str, Any]:
        typed: dict[str, Any] = super().clean() or {}
        first, last = typed.get("first"), typed.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day lies before the first one.")
        return typed


class AsOfForm(forms.Form):
    day = DayField(label="As it stood on", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)


class PeriodForm(DaysForm):
    """A month, a quarter or a year out of those the shop has papers of, or any two days."""

    period = forms.ChoiceField(label="Period", required=False)
    field_order = ("period", "first", "last")

    def __init__(self, *args: Any, since: date, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.initial.setdefault("period", f"{today:%Y-%m}")
        field: Any = self.fields["period"]
        groups = [(name, [(one.code, one.name) for one in periods]) for name, periods in periods_until(since, today)]
        field.choices = [("", "the two days below"), *groups]

    def asked(self) -> Period | None:
        """The period asked for; the running month where nothing was asked; None where it can't be read."""
        if not self.is_bound or not any(self.data.get(name) for name in ("period", "first", "last")):
            return read_period(f"{self.today:%Y-%m}")
        if not self.is_valid():
            return None
        typed = self.cleaned_data
        if typed["period"]:
            return read_period(typed["period"])
        if typed["first"] and typed["last"]:
            return Period(typed["first"], typed["last"])
        self.add_error("last" if typed["first"] else "first", "Give both days, or choose a period.")
        return None
