"""The card of a supplier: who they are, and the terms they sell on, in their own money."""

from collections.abc import Mapping
from dataclasses import asdict
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.models import Supplier
from inventory.queries.exchange import MILLION
from inventory.services import SupplierFacts, supplier_facts
from shop.money import is_currency
from shop.web.context import shop_currency
from shop.web.forms import DayField, MoneyField, SeenForm, TradeForm

RATE_DIGITS = 6


class RateField(forms.CharField):
    """What one unit of another money costs in the shop's: `0.86`, `0,0053`; cleans to millionths, None where left empty."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_length": 20, **kwargs}, empty_value="")

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {**super().widget_attrs(widget), "inputmode": "decimal", "class": "sum", "autocomplete": "off"}

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if text == "":
            return None
        try:
            rate = Decimal(text.replace(",", ".")).scaleb(RATE_DIGITS)
        except InvalidOperation as error:
            raise ValidationError(f"“{text}” can't be read as a rate. Type it like 0.86.", code="unreadable") from error
        if not rate.is_finite() or rate != rate.to_integral_value():
            raise ValidationError(f"A rate has {RATE_DIGITS} decimals at most.", code="unreadable")
        if not 0 < rate < 10**12:
            raise ValidationError("A rate is above nothing and below a million.", code="out_of_range")
        return int(rate)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, int):
            return value
        return f"{Decimal(value).scaleb(-RATE_DIGITS).normalize():f}"

    def has_changed(self, initial: Any, data: Any) -> bool:
        return str(self.prepare_value(initial) or "") != str(data or "").strip()


class SupplierForm(TradeForm):
    name = forms.CharField(label="Name", max_length=120)
    phone = forms.CharField(label="Telephone", max_length=40, required=False, widget=forms.TextInput(attrs={"type": "tel"}))
    email = forms.EmailField(label="E-mail", required=False)
    address = forms.CharField(label="Address", max_length=400, required=False, widget=forms.Textarea(attrs={"rows": 3}))
    our_number = forms.CharField(
        label="Our number with them", max_length=40, required=False, help_text="Printed on every order to them."
    )
    note = forms.CharField(label="Note", max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3}))
    lead_days = forms.IntegerField(
        label="Days until parts arrive",
        min_value=0,
        max_value=3650,
        initial=7,
        help_text="Where an offer says nothing else. Days on which parts are expected are reckoned from it.",
    )
    return_days = forms.IntegerField(
        label="Days in which parts can go back",
        min_value=0,
        max_value=3650,
        initial=14,
        help_text="0 where nothing goes back. The window of a lot is reckoned from the day it comes in.",
    )
    warranty_days = forms.IntegerField(
        label="Days in which they stand by a part that fails",
        min_value=0,
        max_value=3650,
        required=False,
        help_text="From the day a lot came in. Empty where nothing is agreed; the law may give you more.",
    )
    currency = forms.CharField(
        label="Their currency", max_length=3, required=False, help_text="Three letters, such as EUR. Empty: the shop's own."
    )
    exchange = RateField(
        label="What 1 of theirs costs in the shop's money",
        required=False,
        help_text="Such as 0.86, to six decimals. Only where their currency is another one.",
    )
    exchange_on = DayField(label="Rate of the day", required=False)
    minimum_order = MoneyField(label="Smallest order", required=False, help_text="Without carriage. Empty: any.")
    carriage = MoneyField(label="Carriage of one order", required=False)
    carriage_free_from = MoneyField(label="No carriage from", required=False, help_text="Empty: always with carriage.")
    in_use = forms.BooleanField(label="We buy from them", required=False, initial=True)

    def __init__(self, data: Any = None, *args: Any, initial: Mapping[str, Any] | None = None, **kwargs: Any) -> None:
        super().__init__(data, *args, initial=initial, currency=_money_of(data, initial or {}), **kwargs)

    def clean_currency(self) -> str:
        typed = str(self.cleaned_data["currency"]).upper()
        if typed and not is_currency(typed):
            raise ValidationError(f"“{typed}” isn't a currency code of ISO 4217. Use three letters, such as EUR or USD.")
        return typed

    def supplier_facts(self) -> SupplierFacts:
        typed = self.cleaned_data
        names = ("name", "phone", "email", "address", "return_days", "note", "currency", "exchange_on", "lead_days", "our_number")
        return SupplierFacts(
            **{name: typed[name] for name in names},
            warranty_days=typed["warranty_days"],
            in_use=typed["in_use"],
            exchange_ppm=typed["exchange"] or 0,
            minimum_order_minor=typed["minimum_order"] or 0,
            carriage_minor=typed["carriage"] or 0,
            carriage_free_from_minor=typed["carriage_free_from"],
        )


def _money_of(data: Any, initial: Mapping[str, Any]) -> str:
    """The currency that the sums are typed in: the one typed beside them, else the one on the card."""
    typed = str((data if data is not None else initial).get("currency") or "").strip().upper()
    return typed if is_currency(typed) else shop_currency()


class SupplierChangeForm(SupplierForm, SeenForm):
    pass


def supplier_values(supplier: Supplier) -> dict[str, Any]:
    """The card as the form shows it: sums that are nothing stay empty, and so does the rate of the shop's own money."""
    facts = asdict(supplier_facts(supplier))
    rate = facts.pop("exchange_ppm")
    facts["exchange"] = None if rate == MILLION and facts["exchange_on"] is None else rate
    facts["minimum_order"] = facts.pop("minimum_order_minor") or None
    facts["carriage"] = facts.pop("carriage_minor") or None
    facts["carriage_free_from"] = facts.pop("carriage_free_from_minor")
    return facts
