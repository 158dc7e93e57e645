"""What is written down of a customer; the intake page asks the same."""

from typing import Any

from django import forms

from shop.customers import CustomerFacts
from shop.models import Customer
from shop.web.forms import SeenForm, TradeForm

FACTS = ("name", "phone", "email", "address", "country", "tax_id", "buyer_reference", "note")


class CustomerFields(TradeForm):
    """The fields alone. A name is asked for by the act that adds a customer, so that intake can go without one."""

    name = forms.CharField(label="Name", max_length=160, required=False, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    phone = forms.CharField(
        label="Telephone", max_length=40, required=False, widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "off"})
    )
    email = forms.EmailField(label="E-mail", required=False, widget=forms.EmailInput(attrs={"autocomplete": "off"}))
    address = forms.CharField(label="Address", max_length=400, required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def customer_facts(self) -> CustomerFacts:
        return CustomerFacts(**{field: self.cleaned_data.get(field, "") for field in FACTS})


class CustomerForm(CustomerFields):
    country = forms.CharField(
        label="Country", max_length=2, required=False, help_text="Two letters, such as DE, where it isn't the shop's."
    )
    tax_id = forms.CharField(label="Tax number", max_length=60, required=False, help_text="Of a business; stands on its bills.")
    buyer_reference = forms.CharField(
        label="Their reference", max_length=60, required=False, help_text="What they want on our bills: a cost centre, an order."
    )
    note = forms.CharField(
        label="Note",
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="For the shop only; never printed.",
    )
    field_order = FACTS

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"].required = True
        self.fields["name"].error_messages["required"] = "Write the customer's name."


class CustomerChangeForm(CustomerForm, SeenForm):
    pass


def values_of(customer: Customer) -> dict[str, str]:
    """What the form starts with."""
    return {field: getattr(customer, field) for field in FACTS}
