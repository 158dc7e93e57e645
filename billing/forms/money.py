"""Deposits, payments, money moved to another invoice, slips taken back."""

from typing import Any

from django import forms

from billing.models import Invoice, PaymentKind
from billing.queries import account_of
from jobs.models.estimate import PayBy
from shop.money import show
from shop.web.forms import MoneyField, TradeForm

FOR_ALL = (PaymentKind.PAID, PaymentKind.REFUND)
FOR_THE_OWNER = (PaymentKind.WAIVED, PaymentKind.WRITTEN_OFF)


class TakeDepositForm(TradeForm):
    deposit = MoneyField(label="Sum")
    deposit_how = forms.ChoiceField(label="Paid by", choices=PayBy)


class GiveBackForm(TradeForm):
    amount = MoneyField(label="Sum")
    how = forms.ChoiceField(label="Given back by", choices=PayBy)


class PayForm(TradeForm):
    """Prefilled with what is due. Only the owner is offered to let money go."""

    kind = forms.ChoiceField(label="What this is", widget=forms.RadioSelect)
    amount = MoneyField(label="Sum")
    how = forms.ChoiceField(label="By", choices=[("", "Choose"), *PayBy.choices], required=False)
    keep = forms.BooleanField(
        label="The customer leaves what is above the bill with the shop",
        required=False,
        help_text="It can be given back later, or moved to another of their invoices. It doesn't keep the set here.",
    )
    note = forms.CharField(
        label="Note",
        max_length=200,
        required=False,
        help_text="For a waiver or a loss: why the sum is let go. It stays on record.",
    )

    def __init__(self, *args: Any, invoice: Invoice, may_let_go: bool, **kwargs: Any) -> None:
        due = account_of(invoice).due_minor
        first = PaymentKind.REFUND if due < 0 else PaymentKind.PAID
        initial = {"amount": abs(due) or None, "kind": first, **kwargs.pop("initial", {})}
        super().__init__(*args, initial=initial, currency=invoice.currency, **kwargs)
        field: Any = self.fields["kind"]
        field.choices = [(kind.value, kind.label) for kind in (*FOR_ALL, *(FOR_THE_OWNER if may_let_go else ()))]


class MoveForm(TradeForm):
    """Prefilled with what there is to move; the invoices offered are `with_account` has read."""

    goal = forms.ChoiceField(label="Invoice that it pays", widget=forms.RadioSelect)
    amount = MoneyField(label="Sum")

    def __init__(self, *args: Any, invoice: Invoice, goals: list[Any], **kwargs: Any) -> None:
        there = max(0, -account_of(invoice).due_minor)
        first = goals[0] if len(goals) == 1 else None
        initial = {"amount": min(there, first.due) if first else there or None, "goal": first.pk if first else None}
        super().__init__(*args, initial=initial, currency=invoice.currency, **kwargs)
        field: Any = self.fields["goal"]
        field.choices = [(str(one.pk), f"{one.number}, {show(one.due, one.currency)} due") for one in goals]


class TakeBackForm(TradeForm):
    reason = forms.CharField(label="Why it is taken back", max_length=200, help_text="It stays on record beside both lines.")
