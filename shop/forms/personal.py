"""What is asked before somebody's data is erased, and when a request is refused."""

from typing import Any

from django import forms
from django.http import QueryDict

from shop.models import Customer, DataRequestKind
from shop.search_text import fold
from shop.web.fields import INCOMPLETE
from shop.web.forms import DayField, TradeForm

ASKED = (DataRequestKind.ERASE, "They asked for it")
ENDED = (DataRequestKind.CLOCK, "The time of keeping has ended")


class RequestFields(TradeForm):
    asked_on = DayField(label="Day they asked, or today", error_messages={"required": "Write the day on which they asked."})
    how = forms.CharField(label="How they asked", max_length=80, required=False, help_text="By letter, by e-mail, here.")


class EraseForm(RequestFields):
    """`digest` is the fingerprint of what the page showed. The name is typed once more, as nothing brings it back."""

    digest = forms.CharField(
        max_length=64, widget=forms.HiddenInput(attrs={"id": False}), error_messages={"required": INCOMPLETE}
    )
    kind = forms.ChoiceField(label="Why it is erased", widget=forms.RadioSelect)
    note = forms.CharField(label="Note", max_length=300, required=False, help_text="It stays with the request. Name nobody.")
    name = forms.CharField(
        label="Name on the card, once more",
        max_length=160,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text="Nothing brings back what is erased.",
        error_messages={"required": "Type the name as it stands on the card."},
    )
    field_order = ("kind", "asked_on", "how", "note", "name")

    def __init__(self, *args: Any, customer: Customer, has_ended: bool, **kwargs: Any) -> None:
        super().__init__(*args, auto_id="erase_%s", **kwargs)
        self.customer = customer
        self.fields["kind"].choices = [ASKED, ENDED] if has_ended else [ASKED]  # type: ignore[attr-defined]

    def see(self, fingerprint: str) -> None:
        """After a refusal: what is typed stays, and the next sending confirms what the page shows now."""
        data = QueryDict(mutable=True)
        data.update(self.data)
        data["digest"] = fingerprint
        self.data = data

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        if fold(name) != fold(self.customer.name):
            raise forms.ValidationError(f"That isn't the name on this card: {self.customer.name}.")
        return name


class RefusalForm(RequestFields):
    note = forms.CharField(
        label="Why it is refused",
        max_length=300,
        help_text="As they are told: who asked isn't this person, the request was made before and answered.",
        error_messages={"required": "Write why it is refused, in the words in which they are told."},
    )
    field_order = ("asked_on", "how", "note")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, auto_id="refusal_%s", **kwargs)
