"""What a customer brings: parts as they come in, without cost and supplier, and their going back."""

from typing import Any

from django import forms

from inventory.forms.lot import LotFields
from inventory.forms.part import PartFields
from shop.web.forms import TradeForm


class OwnPartForm(LotFields):
    """Parts that have a card."""

    cost = cost_for = supplier = received_on = None  # type: ignore[assignment]


class OwnPartNewForm(OwnPartForm, PartFields):
    """Parts that had no card; the shop keeps none of them in reserve and sells none."""

    list_price = minimum = in_the_hour = None  # type: ignore[assignment]
    field_order = tuple(PartFields.base_fields)

    def clean(self) -> dict[str, Any]:
        return {**super().clean(), "list_price": None, "minimum": 0, "in_the_hour": False}


class GiveBackForm(TradeForm):
    lot = forms.IntegerField(widget=forms.HiddenInput(attrs={"id": False}))
    drawer = forms.IntegerField(widget=forms.HiddenInput(attrs={"id": False}))
    count = forms.IntegerField(label="How many")


class NotGivenForm(TradeForm):
    movement = forms.IntegerField(widget=forms.HiddenInput(attrs={"id": False}))
