"""A supplier's bill as it came: its head, what it charges for by line of our orders, and what else stands on it."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from inventory.forms.readings import CostField
from inventory.models import OrderLine, SupplierBill
from inventory.services.supplier_bills import BillFacts, BillLineFacts
from shop.web.forms import DayField, MoneyField, SeenForm, TradeForm

OTHER_ROWS = 3


class SupplierBillFields(TradeForm):
    """Fields of an order's line are called `count_7` and `unit_7` by its key; a line without a count isn't on the bill."""

    number = forms.CharField(label="Number of the bill", max_length=60)
    billed_on = DayField(label="Day of the bill")
    due_on = DayField(label="To be paid by", required=False)
    carriage = MoneyField(label="Carriage", required=False)
    net = MoneyField(label="Sum without tax", help_text="As printed on the bill, carriage included.")
    tax = MoneyField(label="Tax", required=False)
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, *args: Any, lines: Sequence[OrderLine], currency: str, others: int = 0, **kwargs: Any) -> None:
        self.lines, self.bill_currency, self.other_rows = lines, currency, others + OTHER_ROWS
        super().__init__(*args, currency=currency, **kwargs)
        for line in lines:
            self.fields |= _fields_of(line, currency)
        for row in range(self.other_rows):
            self.fields |= _other_fields(row, currency)

    def rows(self) -> list[tuple[OrderLine, BoundField, BoundField]]:
        return [(line, self[f"count_{line.pk}"], self[f"unit_{line.pk}"]) for line in self.lines]

    def other(self) -> list[tuple[BoundField, BoundField]]:
        return [(self[f"other_text_{row}"], self[f"other_sum_{row}"]) for row in range(self.other_rows)]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for line in self.lines:
            unit = f"unit_{line.pk}"
            if cleaned.get(f"count_{line.pk}") and cleaned.get(unit) is None and unit not in self.errors:
                self.add_error(unit, f"Type what the bill charges for one of {line.text}.")
        for row in range(self.other_rows):
            text, amount = f"other_text_{row}", f"other_sum_{row}"
            if cleaned.get(text) and cleaned.get(amount) is None and amount not in self.errors:
                self.add_error(amount, "Type what the bill charges for it.")
            elif cleaned.get(amount) is not None and not cleaned.get(text):
                self.add_error(text, "Say what this sum is for.")
        return cleaned

    def facts(self) -> BillFacts:
        typed = self.cleaned_data
        return BillFacts(
            typed["number"],
            typed["billed_on"],
            self.bill_currency,
            typed["net"],
            tax_minor=typed["tax"] or 0,
            carriage_minor=typed["carriage"] or 0,
            due_on=typed["due_on"],
            note=typed["note"],
        )

    def bill_lines(self) -> list[BillLineFacts]:
        typed = self.cleaned_data
        ordered = [
            BillLineFacts(line.text, typed[f"count_{line.pk}"], typed[f"unit_{line.pk}"], line)
            for line in self.lines
            if typed[f"count_{line.pk}"] is not None
        ]
        other = [
            BillLineFacts(typed[f"other_text_{row}"], 1, typed[f"other_sum_{row}"] * 1000)
            for row in range(self.other_rows)
            if typed[f"other_text_{row}"]
        ]
        return ordered + other


def _fields_of(line: OrderLine, currency: str) -> dict[str, forms.Field]:
    whole = {"invalid": f"Type how many of {line.text} are billed as a whole number."}
    return {
        f"count_{line.pk}": forms.IntegerField(label="Billed", required=False, error_messages=whole),
        f"unit_{line.pk}": CostField(label="Price each", required=False, currency=currency),
    }


def _other_fields(row: int, currency: str) -> dict[str, forms.Field]:
    return {
        f"other_text_{row}": forms.CharField(label="What else it charges for", max_length=200, required=False),
        f"other_sum_{row}": MoneyField(label="Sum", required=False, currency=currency),
    }


class SupplierBillForm(SupplierBillFields):
    """A bill that is written down."""


class SupplierBillChangeForm(SupplierBillFields, SeenForm):
    """A bill that is corrected before it is accepted."""


class AcceptForm(SeenForm):
    why = forms.CharField(label="Why it is accepted all the same", max_length=300)


def new_values(lines: Sequence[OrderLine]) -> dict[str, Any]:
    """What came and was not billed, at the price it was ordered for. Lines are those of `can_be_billed`."""
    values: dict[str, Any] = {}
    for line in lines:
        due = line.received - line.was_billed  # type: ignore[attr-defined]
        values[f"count_{line.pk}"] = due if due > 0 else None
        values[f"unit_{line.pk}"] = line.unit_milli
    return values


def bill_values(bill: SupplierBill, lines: Sequence[OrderLine]) -> dict[str, Any]:
    """A bill as it is written, for its form; lines it doesn't charge for keep an empty count."""
    values: dict[str, Any] = {f"unit_{line.pk}": line.unit_milli for line in lines}
    other = 0
    for line in bill.lines.all():  # type: ignore[attr-defined]
        if line.order_line_id:
            values |= {f"count_{line.order_line_id}": line.count, f"unit_{line.order_line_id}": line.unit_milli}
        else:
            values |= {f"other_text_{other}": line.text, f"other_sum_{other}": line.unit_milli // 1000}
            other += 1
    names = ("number", "billed_on", "due_on", "note")
    sums = {"carriage": bill.carriage_minor or None, "net": bill.net_minor, "tax": bill.tax_minor or None}
    return {**values, **{name: getattr(bill, name) for name in names}, **sums}
