"""The two doors a set leaves by."""

from django import forms

from shop.web.forms import TradeForm


class HandOverForm(TradeForm):
    received_by = forms.CharField(label="Received and signed by", max_length=120)


class UnsafeForm(TradeForm):
    received_by = forms.CharField(label="Received and signed by", max_length=120)
    how_disabled = forms.CharField(
        label="How the set was disabled", max_length=200, help_text="For example: line cord cut off and kept."
    )
    told = forms.BooleanField(
        label="The person was told, and signed, that the set is unsafe and must not be connected",
        error_messages={"required": "A set goes back unsafe only with a signature under that warning."},
    )
