"""Writing an order: whom to, its lines, what stands beside them, and what becomes of a rest."""

from typing import Any

from django import forms

from inventory.forms.readings import CostField
from inventory.models import Offer, Order, OrderLine, Part, Supplier
from inventory.services.orders import OrderDraftLine
from shop.web.forms import DayField, MoneyField, SeenForm, TradeForm


class OrderNewForm(TradeForm):
    supplier = forms.ModelChoiceField(
        label="Supplier",
        queryset=Supplier.objects.filter(in_use=True),
        empty_label="choose",
        error_messages={"required": "Choose whom the order is for.", "invalid_choice": "Choose a supplier we buy from."},
    )


class OrderLineFields(TradeForm):
    """A line of an order in writing, for an offer of the supplier's or for a part card with a price that was asked for."""

    count = forms.IntegerField(label="How many")
    unit = CostField(label="Price each", required=False)
    pack_size = forms.IntegerField(label="Pieces in a pack", min_value=1, max_value=100_000, initial=1)
    code = forms.CharField(label="Their order code", max_length=60, required=False)
    text = forms.CharField(label="As it stands on the order", max_length=200)
    for_what = forms.CharField(
        label="For", max_length=200, required=False, help_text="Numbers of the jobs that wait for it, or why it is bought."
    )
    needed_on = DayField(label="Needed by", required=False)
    expected_on = DayField(
        label="Expected on", required=False, help_text="Empty: reckoned from the lead time on the day the order is sent."
    )

    def __init__(self, *args: Any, order: Order, part: Part, offer: Offer | None, **kwargs: Any) -> None:
        super().__init__(*args, currency=order.currency, **kwargs)
        self.part, self.offer = part, offer
        if offer is not None:
            self.fields["pack_size"].disabled = True
            self.fields["unit"].help_text = "Empty: the price of their list at this count."

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("unit") is None and self.offer is None and "unit" not in self.errors:
            self.add_error("unit", "Type the price of one. They have no list price for this part.")
        return cleaned

    def draft_line(self) -> OrderDraftLine:
        typed = self.cleaned_data
        unit = typed["unit"]
        if unit is None and self.offer is not None:
            unit = self.offer.unit_milli_at(typed["count"])
        names = ("count", "pack_size", "code", "text", "for_what", "needed_on", "expected_on")
        return OrderDraftLine(part=self.part, offer=self.offer, unit_milli=unit, **{name: typed[name] for name in names})


class OrderLineForm(OrderLineFields):
    """A new line."""


class OrderLineChangeForm(OrderLineFields, SeenForm):
    """A line that is written already, changed in sight of the order's version."""


def offered(offer: Offer) -> dict[str, Any]:
    """A new line for an offer: the fewest they sell, in whole packs."""
    packs = -(-offer.least_count // offer.pack_size)
    text = offer.text or (offer.part.title if offer.part else "")
    return {"count": packs * offer.pack_size, "pack_size": offer.pack_size, "code": offer.code, "text": text}


def line_values(line: OrderLine) -> dict[str, Any]:
    """A line as the form shows it; a price that is their list's stays empty, so that it follows the count."""
    names = ("count", "pack_size", "code", "text", "for_what", "needed_on", "expected_on")
    listed = line.offer.unit_milli_at(line.count) if line.offer else None
    return {
        **{name: getattr(line, name) for name in names},
        "unit": None if line.unit_milli == listed else line.unit_milli,
    }


class OrderHeadForm(SeenForm):
    carriage = MoneyField(label="Carriage", required=False)
    note = forms.CharField(
        label="For the supplier",
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Printed under the lines.",
    )


class WillNotComeForm(SeenForm):
    count = forms.IntegerField(label="How many will not come")
    reason = forms.CharField(label="Why", max_length=200)


class ExpectedForm(SeenForm):
    expected_on = DayField(label="Expected on")
