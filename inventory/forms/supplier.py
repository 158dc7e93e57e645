"""The card of a supplier."""

from django import forms

from inventory.services import SupplierFacts
from shop.web.forms import SeenForm, TradeForm


class SupplierForm(TradeForm):
    name = forms.CharField(label="Name", max_length=120)
    phone = forms.CharField(label="Telephone", max_length=40, required=False, widget=forms.TextInput(attrs={"type": "tel"}))
    email = forms.EmailField(label="E-mail", required=False)
    address = forms.CharField(label="Address", max_length=400, required=False, widget=forms.Textarea(attrs={"rows": 3}))
    return_days = forms.IntegerField(
        label="Days in which parts can go back",
        min_value=0,
        max_value=3650,
        initial=14,
        help_text="0 where nothing goes back. The window of a lot is reckoned from the day it comes in.",
    )
    note = forms.CharField(label="Note", max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def supplier_facts(self) -> SupplierFacts:
        names = ("name", "phone", "email", "address", "return_days", "note")
        return SupplierFacts(**{name: self.cleaned_data[name] for name in names})


class SupplierChangeForm(SupplierForm, SeenForm):
    pass
