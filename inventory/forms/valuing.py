"""What the owner asks of the stock: its worth on a day, its turns in a period, what lies dead; and writing a lot down."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.forms.readings import CostField
from inventory.models import Kind
from inventory.queries.turning import USUAL_DEAD_DAYS, usual_period
from inventory.queries.valuing import FIRST_DAY
from inventory.services import Judged
from shop.web.forms import DayField, SeenForm

DEAD_DAYS = (30, 90, 180, 365, 730)


class PastDayField(DayField):
    """A day up to today, the day the form was asked on."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.today = date.max

    def clean(self, value: Any) -> Any:
        day = super().clean(value)
        if day is not None and day > self.today:
            raise ValidationError("That day is still to come. Choose one up to today.", code="future")
        if day is not None and day < FIRST_DAY:
            raise ValidationError("No stock was kept here as long ago as that.", code="long_ago")
        return day


class Question(forms.Form):
    """A form that asks only: what it can't read is said, and the usual is shown instead."""

    def __init__(self, data: Any, *, today: date) -> None:
        super().__init__({**self.usual(today), **{name: value for name, value in data.items() if value}}, label_suffix="")
        self.today = today
        for field in self.fields.values():
            if isinstance(field, PastDayField):
                field.today = today

    def usual(self, today: date) -> dict[str, Any]:
        raise NotImplementedError

    def asked(self, name: str) -> Any:
        """What was asked, or the usual where that can't be read."""
        self.is_valid()
        found = self.cleaned_data.get(name)
        return self.usual(self.today).get(name) if found is None else found


class ValueForm(Question):
    day = PastDayField(label="At the end of")
    kind = forms.ChoiceField(label="Kind", choices=[("", "all"), *Kind.choices], required=False)

    def usual(self, today: date) -> dict[str, Any]:
        return {"day": today}


class PeriodForm(Question):
    first = PastDayField(label="From")
    last = PastDayField(label="To")

    def usual(self, today: date) -> dict[str, Any]:
        first, last = usual_period(today)
        return {"first": first, "last": last}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and first > last:
            raise ValidationError("The period ends before it begins. Swap the two days.", code="swapped")
        return cleaned

    @property
    def period(self) -> tuple[date, date]:
        names = ("first", "last")
        usual = self.usual(self.today)
        return (self.cleaned_data["first"], self.cleaned_data["last"]) if self.is_valid() else (usual[names[0]], usual[names[1]])


class DeadForm(Question):
    days = forms.TypedChoiceField(
        label="Nothing fitted for", choices=[(days, f"{days} days") for days in DEAD_DAYS], coerce=int, empty_value=None
    )

    def usual(self, today: date) -> dict[str, Any]:
        return {"days": USUAL_DEAD_DAYS}


class WritedownForm(SeenForm):
    unit = CostField(label="One of them would fetch", help_text="What it cost, at most; that writes the lot back up.")
    from_on = DayField(label="From", help_text="Values of earlier days stay as they were.")
    reason = forms.CharField(label="Why", max_length=200, help_text="Whoever checks the year's end reads it.")

    @property
    def judged(self) -> Judged:
        typed = self.cleaned_data
        return Judged(typed["unit"], typed["from_on"], typed["reason"])
