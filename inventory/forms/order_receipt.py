"""What came in on an order: one form, a few fields for each line."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from inventory.forms.drawer import DrawerField
from inventory.forms.readings import CostField
from inventory.models import Condition
from inventory.queries.orders import LineStanding
from inventory.services.order_receipts import ArrivedLine
from shop.web.forms import DayField, MoneyField, SeenForm

OF_A_LINE = ("count", "drawer", "unit_cost", "condition", "date_code", "note", "why_more")


class OrderReceiptForm(SeenForm):
    """Fields of a line are called `count_7`, `drawer_7`, … by the line's key. A line without a count didn't come."""

    received_on = DayField(label="Came in on")
    carriage = MoneyField(label="Carriage of this delivery", required=False, help_text="In the shop's money, without tax.")
    shared = forms.BooleanField(
        label="Share the carriage over these parts, by what they cost",
        required=False,
        initial=True,
        help_text="It is then part of what each lot cost. Without the tick it is left out.",
    )

    def __init__(self, *args: Any, lines: Sequence[LineStanding], currency: str, **kwargs: Any) -> None:
        super().__init__(*args, currency=currency, **kwargs)
        self.lines = lines
        for line in lines:
            self.fields |= _fields_of(line, currency)

    def rows(self) -> list[tuple[LineStanding, dict[str, BoundField]]]:
        """Each line with its bound fields, those on which something is open first."""
        ordered = sorted(self.lines, key=lambda line: not line.open)
        return [(line, {name: self[f"{name}_{line.line.pk}"] for name in OF_A_LINE}) for line in ordered]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for line in self.lines:
            pk = line.line.pk
            if cleaned.get(f"count_{pk}"):
                self._need(cleaned, f"drawer_{pk}", f"Say which drawer {line.line.text} goes into.")
                self._need(cleaned, f"unit_cost_{pk}", f"Say what one of {line.line.text} cost; 0 for nothing.")
        return cleaned

    def _need(self, cleaned: dict[str, Any], name: str, why: str) -> None:
        if cleaned.get(name) is None and name not in self.errors:
            self.add_error(name, why)

    def arrived(self) -> list[ArrivedLine]:
        typed = self.cleaned_data
        keys = [line.line.pk for line in self.lines]
        came = {pk: {name: typed[f"{name}_{pk}"] for name in OF_A_LINE} for pk in keys}
        by_key = {line.line.pk: line.line for line in self.lines}
        return [
            ArrivedLine(
                by_key[pk],
                row["count"],
                row["drawer"],
                row["unit_cost"],
                date_code=row["date_code"],
                condition=row["condition"],
                note=row["note"],
                why_more=row["why_more"],
            )
            for pk, row in came.items()
            if row["count"] is not None
        ]

    def carriage_minor(self) -> int:
        return (self.cleaned_data["carriage"] or 0) if self.cleaned_data["shared"] else 0


def _fields_of(standing: LineStanding, currency: str) -> dict[str, forms.Field]:
    """Labels name the line for who hears the form; the page shows them under the line's own heading."""
    pk, of = standing.line.pk, standing.line.text
    whole = {"invalid": f"Type how many of {of} came as a whole number."}
    count = forms.IntegerField(label="How many came", required=False, error_messages=whole)
    count.widget.attrs["aria-label"] = f"How many came of {of}"
    return {
        f"count_{pk}": count,
        f"drawer_{pk}": DrawerField(label="Drawer", required=False),
        f"unit_cost_{pk}": CostField(label="Cost each", required=False, currency=currency),
        f"condition_{pk}": forms.ChoiceField(label="Class", choices=Condition.choices),
        f"date_code_{pk}": forms.CharField(label="Date code", max_length=40, required=False),
        f"note_{pk}": forms.CharField(label="Note", max_length=200, required=False),
        f"why_more_{pk}": forms.CharField(label="Why more is kept than was ordered", max_length=150, required=False),
    }
