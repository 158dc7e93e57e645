"""Who has a set now, and since when."""

from typing import Any

from django import forms

from shop.forms.customer import CustomerFields
from shop.web.forms import DayField, SeenForm


class SetHandsForm(SeenForm):
    """To a customer who is known."""

    moved_on = DayField(label="Changed hands on")
    note = forms.CharField(
        label="Note", max_length=200, required=False, help_text="Such as who told us, or what it was sold for."
    )


class SetHandsNewForm(SetHandsForm, CustomerFields):
    """To somebody whom the shop doesn't know yet."""

    somebody_else = forms.BooleanField(label="It is somebody else than those we know of that name or number", required=False)
    field_order = ("name", "phone", "email", "address", "moved_on", "note", "somebody_else")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"].required = True
        self.fields["name"].error_messages["required"] = "Write the new owner's name."


class HandBackForm(SeenForm):
    customer = forms.IntegerField(widget=forms.HiddenInput(attrs={"id": False}))
