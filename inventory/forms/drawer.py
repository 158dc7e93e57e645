"""Drawers: a new one, naming one anew, choosing one by its code, the sheet of labels."""

from dataclasses import replace
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.documents.labels import SHEETS as SHEETS
from inventory.documents.labels import LabelSheet
from inventory.documents.lot_label import fits
from inventory.models import Drawer, Lot
from inventory.queries.drawers import drawer_called
from inventory.services import MOST_ACROSS, Place
from shop.web.fields import TYPED_VERBATIM
from shop.web.forms import SeenForm, TradeForm

MOST_AT_A_TIME = 200


def _place_field(label: str, **kwargs: Any) -> forms.CharField:
    return forms.CharField(label=label, max_length=20, widget=forms.TextInput(attrs=dict(TYPED_VERBATIM)), **kwargs)


def checked_name(text: str) -> str:
    """A stroke parts cabinet, tray and compartment in a drawer's code, so none may hold one."""
    if "/" in text:
        raise ValidationError("Leave the stroke out: it parts cabinet, tray and compartment.")
    return " ".join(text.split())


class DrawerFields(TradeForm):
    cabinet = _place_field("Cabinet")
    tray = _place_field("Tray")
    compartment = _place_field("Compartment", required=False, help_text="Empty where the tray isn't divided.")

    def clean_cabinet(self) -> str:
        return checked_name(self.cleaned_data["cabinet"])

    def clean_tray(self) -> str:
        return checked_name(self.cleaned_data["tray"])

    def clean_compartment(self) -> str:
        return checked_name(self.cleaned_data["compartment"])

    def place(self) -> Place:
        return Place(*(self.cleaned_data[name] for name in ("cabinet", "tray", "compartment")))


class DrawerForm(DrawerFields):
    """One drawer, or a row of them: trays or compartments counted up from the number typed."""

    how_many = forms.IntegerField(
        label="How many",
        min_value=1,
        max_value=MOST_AT_A_TIME,
        initial=1,
        help_text="More than one counts up from the last number typed: tray 1, 2, 3 …",
    )

    def places(self) -> list[Place]:
        first, count = self.place(), self.cleaned_data["how_many"]
        counted = first.compartment or first.tray
        if count == 1:
            return [first]
        numbers = range(int(counted), int(counted) + count)
        if first.compartment:
            return [Place(first.cabinet, first.tray, str(number)) for number in numbers]
        return [Place(first.cabinet, str(number)) for number in numbers]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        counted = cleaned.get("compartment") or cleaned.get("tray") or "1"
        if (cleaned.get("how_many") or 1) > 1 and not (counted.isdecimal() and counted.isascii() and len(counted) < 7):
            field = "compartment" if cleaned.get("compartment") else "tray"
            self.add_error(field, "A row of drawers starts from a number. Type a number, or make one drawer at a time.")
        return cleaned


class DrawerChangeForm(DrawerFields, SeenForm):
    pass


class FaceForm(TradeForm):
    """How many trays of a cabinet stand side by side."""

    cabinet = forms.CharField(max_length=20, widget=forms.HiddenInput)
    across = forms.IntegerField(label="Trays side by side", min_value=1, max_value=MOST_ACROSS)


class DrawerField(forms.CharField):
    """A drawer by its code, `A / 3 / 2`; cleans to the drawer, None where left empty. `_codes.html` on the page suggests."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"label": "Drawer", "max_length": 70, "empty_value": "", **kwargs})

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {**super().widget_attrs(widget), **TYPED_VERBATIM, "list": "drawer-codes"}

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if text == "":
            return None
        drawer = drawer_called(text)
        if drawer is None:
            raise ValidationError(f"There is no drawer “{text}”. Check the code on its label, or make the drawer first.")
        return drawer

    def prepare_value(self, value: Any) -> Any:
        return value.code if isinstance(value, Drawer) else value


class DrawersField(forms.ModelMultipleChoiceField):
    def clean(self, value: Any) -> Any:
        """A number too large for any row would overflow the query."""
        return super().clean([str(pk)[:18] for pk in value or ()])


class SheetForm(forms.Form):
    """Sent by GET: it changes nothing. `sheet` and `used_up` say where on the paper the labels go."""

    sheet = forms.ChoiceField(label="Sheet of labels", choices=[(code, words) for code, (words, _) in SHEETS.items()])
    used_up = forms.IntegerField(label="Labels used up on the first sheet", min_value=0, max_value=200, required=False)

    def label_sheet(self) -> LabelSheet:
        sheet = SHEETS[self.cleaned_data["sheet"]][1]
        return replace(sheet, first=(self.cleaned_data["used_up"] or 0) % (sheet.columns * sheet.rows))


class BagsForm(SheetForm):
    """The lots of a day's delivery, on sheets whose labels are large enough."""

    day = forms.DateField(
        label="Came in on",
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"required": "Say on which day they came."},
    )
    sheet = forms.ChoiceField(
        label="Sheet of labels", choices=[(code, words) for code, (words, sheet) in SHEETS.items() if fits(sheet)]
    )

    def clean_day(self) -> date:
        day: date = self.cleaned_data["day"]
        if not Lot.objects.filter(received_on=day).exists():
            raise ValidationError("No lot came in on that day. Choose the day of a delivery.")
        return day


class LabelsForm(SheetForm):
    """The drawers that are ticked."""

    drawer = DrawersField(
        label="Drawers",
        queryset=Drawer.objects.all(),
        error_messages={"required": "Choose at least one drawer."},
    )
