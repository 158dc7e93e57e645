"""What is done to a lot: coming in, counting, moving, scrapping, sending back, blocking."""

from typing import Any

from django import forms
from django.http import QueryDict

from inventory.forms.drawer import DrawerField, checked_name
from inventory.forms.part import PartFields
from inventory.forms.readings import CostField
from inventory.models import Condition, Supplier
from inventory.services import Place
from shop.web.forms import DayField, TradeForm

FOR_ALL, EACH = "all", "each"


class LotFields(TradeForm):
    """Parts as they come in. The drawer is one there is, or a new one by cabinet, tray and compartment."""

    count = forms.IntegerField(label="How many")
    cost = CostField(label="Cost", required=True, help_text="Without tax that you get back. 0 for what cost nothing.")
    cost_for = forms.ChoiceField(
        label="That is the cost",
        choices=[(FOR_ALL, "for all of them"), (EACH, "for each")],
        widget=forms.RadioSelect,
        initial=FOR_ALL,
    )
    drawer = DrawerField(required=False, help_text="Its code as on the label, such as A / 3.")
    cabinet = forms.CharField(label="Cabinet of a new drawer", max_length=20, required=False)
    tray = forms.CharField(label="Its tray", max_length=20, required=False)
    compartment = forms.CharField(label="Its compartment", max_length=20, required=False)
    supplier = forms.ModelChoiceField(
        label="Supplier", queryset=Supplier.objects.all(), required=False, empty_label="nobody, or not known"
    )
    condition = forms.ChoiceField(label="Class", choices=Condition.choices, help_text="As a bill must name it.")
    date_code = forms.CharField(label="Date code", max_length=40, required=False, help_text="As printed on the part or the bag.")
    received_on = DayField(label="Came in on")
    note = forms.CharField(label="Note", max_length=200, required=False)

    def clean_cabinet(self) -> str:
        return checked_name(self.cleaned_data["cabinet"])

    def clean_tray(self) -> str:
        return checked_name(self.cleaned_data["tray"])

    def clean_compartment(self) -> str:
        return checked_name(self.cleaned_data["compartment"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        named = [name for name in ("cabinet", "tray", "compartment") if cleaned.get(name)]
        if cleaned.get("drawer") and named:
            self.add_error(named[0], "Choose a drawer there is, or name a new one; not both.")
        elif named and not (cleaned.get("cabinet") and cleaned.get("tray")):
            self.add_error("tray" if cleaned.get("cabinet") else "cabinet", "A new drawer needs a cabinet and a tray.")
        elif not named and not cleaned.get("drawer") and "drawer" not in self.errors:
            self.add_error("drawer", "Say which drawer they go into.")
        return cleaned

    def place(self) -> Place:
        return Place(*(self.cleaned_data[name] for name in ("cabinet", "tray", "compartment")))

    def unit_cost_milli(self) -> int:
        """Rounded to the nearest thousandth of the smallest coin where a sum for all doesn't divide."""
        cost, count = self.cleaned_data["cost"], max(self.cleaned_data["count"], 1)
        return int(cost) if self.cleaned_data["cost_for"] == EACH else (2 * cost + count) // (2 * count)


class ReceiveForm(LotFields):
    """More of a part that has a card."""


class ReceiveNewForm(LotFields, PartFields):
    """A part that had no card, with its first lot."""

    field_order = tuple(PartFields.base_fields)


class CountForm(TradeForm):
    counted = forms.IntegerField(label="Counted in the drawer")
    reason = forms.CharField(
        label="Why it differs", max_length=200, required=False, help_text="Needed only where the count differs."
    )
    shown = forms.IntegerField(widget=forms.HiddenInput(attrs={"id": False}))

    def see(self, on_hand: int) -> None:
        """After parts came or went meanwhile: the next sending counts as made in sight of what lies there now."""
        data = QueryDict(mutable=True)
        data.update(self.data)
        data["shown"] = str(on_hand)
        self.data = data


class TransferForm(TradeForm):
    count = forms.IntegerField(label="How many")
    target = DrawerField(label="To which drawer")
    reason = forms.CharField(label="Why", max_length=150, required=False)


class TakeOutForm(TradeForm):
    """Scrapping, and sending back."""

    count = forms.IntegerField(label="How many")
    reason = forms.CharField(label="Why", max_length=200)


class BlockForm(TradeForm):
    reason = forms.CharField(
        label="Why nothing of it may be fitted", max_length=200, help_text="Everybody who chooses parts at the bench sees this."
    )
