"""Forms of the till: deposits, payments, credit notes, the hand-over."""

from typing import Any

from django import forms

from billing.models import Invoice, PaymentKind
from billing.queries import account_of
from jobs.models.estimate import PayBy
from shop.web.forms import MoneyField, TradeForm

REASON = "Printed on the credit note."


class TakeDepositForm(TradeForm):
    deposit = MoneyField(label="Sum")
    deposit_how = forms.ChoiceField(label="Paid by", choices=PayBy)


class GiveBackForm(TradeForm):
    amount = MoneyField(label="Sum")
    how = forms.ChoiceField(label="Given back by", choices=PayBy)


class CreditForm(TradeForm):
    reason = forms.CharField(label="Why the invoice is credited", max_length=300, widget=forms.Textarea, help_text=REASON)


class PayForm(TradeForm):
    """Prefilled with what is due. Only the owner is offered the waiver."""

    kind = forms.ChoiceField(label="What this is", widget=forms.RadioSelect)
    amount = MoneyField(label="Sum")
    how = forms.ChoiceField(label="By", choices=[("", "Choose"), *PayBy.choices], required=False)
    note = forms.CharField(
        label="Note", max_length=200, required=False, help_text="For a waiver: why the sum is let go. It stays on record."
    )

    def __init__(self, *args: Any, invoice: Invoice, may_waive: bool, **kwargs: Any) -> None:
        due = account_of(invoice).due_minor
        first = PaymentKind.REFUND if due < 0 else PaymentKind.PAID
        initial = {"amount": abs(due) or None, "kind": first, **kwargs.pop("initial", {})}
        super().__init__(*args, initial=initial, currency=invoice.currency, **kwargs)
        kinds = [choice for choice in PaymentKind.choices if may_waive or choice[0] != PaymentKind.WAIVED]
        field: Any = self.fields["kind"]
        field.choices = kinds


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
