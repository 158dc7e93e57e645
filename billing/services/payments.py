"""Money against invoices: paid, paid back, let go."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from billing.models import Invoice, Payment, PaymentKind
from billing.queries import account_of
from jobs.models.estimate import PayBy
from jobs.services.stages import lock_job
from shop.acts import Refused
from shop.models import Staff
from shop.money import show


@dataclass(frozen=True, slots=True)
class Money:
    """Money that changed hands, or was let go: amount in minor units."""

    kind: str
    amount_minor: int
    how: str = ""
    note: str = ""


@transaction.atomic
def record_payment(invoice: Invoice, money: Money, *, person: Staff, at: datetime) -> Payment:
    """Payment, refund or waiver. More than is due is refused: it would be money that nobody owes."""
    lock_job(invoice.job)
    current = Invoice.objects.select_for_update().get(pk=invoice.pk)
    if current.is_credit:
        raise Refused("Money goes with the invoice, not with its credit note.", code="is_credit")
    if money.amount_minor <= 0:
        raise Refused("The sum must be above nothing.", field="amount")
    if money.kind not in PaymentKind.values:
        raise Refused("Choose what this is: a payment, a refund or a waiver.", field="kind")
    if money.kind != PaymentKind.WAIVED and money.how not in PayBy.values:
        raise Refused("Choose how it was paid.", field="how")
    _check_against_due(current, money, person)
    return Payment.objects.create(
        invoice=current,
        kind=money.kind,
        amount_minor=money.amount_minor,
        how=money.how,
        note=money.note.strip()[:200],
        at=at,
        person=person,
    )


def _check_against_due(invoice: Invoice, money: Money, person: Staff) -> None:
    due = account_of(invoice).due_minor
    owed = show(abs(due), invoice.currency)
    if money.kind == PaymentKind.REFUND:
        if money.amount_minor > -due:
            raise Refused(f"There is {owed if due < 0 else 'nothing'} to give back on {invoice.number}.", field="amount")
        return
    if money.amount_minor > due:
        raise Refused(
            f"{owed if due > 0 else 'Nothing'} is due on {invoice.number}; {show(money.amount_minor, invoice.currency)} is more.",
            field="amount",
        )
    if money.kind == PaymentKind.WAIVED:
        if not person.is_owner:
            raise Refused("Only the owner waives money that is due.", code="owner_only")
        if not money.note.strip():
            raise Refused("Say why the sum is waived.", field="note")
