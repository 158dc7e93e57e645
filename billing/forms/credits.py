"""Credit notes, over the whole of an invoice or a part of it."""

from collections.abc import Iterator
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from billing.models import InvoiceLine
from billing.services import PartOf
from shop.web.forms import MoneyField, SeenForm, TradeForm

REASON = "Printed on the credit note."


class CreditForm(TradeForm):
    reason = forms.CharField(label="Why the invoice is credited", max_length=300, widget=forms.Textarea, help_text=REASON)


class PartCreditForm(SeenForm):
    """A count and a sum for each line that still stands for something; `rests` are (line, minor units left) pairs."""

    reason = forms.CharField(label="Why this is credited", max_length=300, widget=forms.Textarea, help_text=REASON)

    def __init__(self, *args: Any, rests: list[tuple[InvoiceLine, int]], currency: str, **kwargs: Any) -> None:
        self.rests = rests
        super().__init__(*args, currency=currency, **kwargs)
        for line, _ in rests:
            if line.count > 1:
                self.fields[f"count_{line.pk}"] = forms.IntegerField(
                    label="Count", required=False, min_value=1, max_value=line.count
                )
            self.fields[f"sum_{line.pk}"] = MoneyField(label="Sum", required=False, currency=currency)

    def rows(self) -> Iterator[tuple[InvoiceLine, int, BoundField | None, BoundField]]:
        for line, rest in self.rests:
            yield line, rest, self[f"count_{line.pk}"] if line.count > 1 else None, self[f"sum_{line.pk}"]

    def parts(self) -> list[PartOf]:
        """What was typed, line by line; lines with nothing typed are left out."""
        typed = [(line, self.cleaned_data.get(f"count_{line.pk}"), self.cleaned_data[f"sum_{line.pk}"]) for line, _ in self.rests]
        return [PartOf(line, count, minor) for line, count, minor in typed if count is not None or minor is not None]
