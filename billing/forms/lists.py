"""What a list of the till is narrowed by. It comes in the address, so it is read leniently."""

from django import forms

from billing.forms.periods import DaysForm


class PaymentsForm(DaysForm):
    q = forms.CharField(
        label="Invoice, job or customer",
        required=False,
        max_length=80,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    field_order = ("q", "first", "last")
