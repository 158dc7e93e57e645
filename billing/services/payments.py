"""Money against invoices: paid, paid back, let go, moved to another invoice; and each of these taken back where it was a slip."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from billing.models import Invoice, Payment, PaymentKind
from billing.queries import Account, account_of, taken_back_by
from billing.services.open_accounts import keep, keep_anew
from jobs.models import Job
from jobs.models.estimate import PayBy
from jobs.services.stages import lock_job
from shop.acts import Refused, Stale
from shop.models import Staff
from shop.money import show
from shop.prepared import by_key, insert

BOOKED = (PaymentKind.PAID, PaymentKind.REFUND, PaymentKind.WAIVED, PaymentKind.WRITTEN_OFF)
BY_THE_OWNER = {PaymentKind.WAIVED: "waives money that is due", PaymentKind.WRITTEN_OFF: "writes money off"}
WHY = {PaymentKind.WAIVED: "Say why the sum is waived.", PaymentKind.WRITTEN_OFF: "Say why the sum is written off as lost."}
TURNED = {PaymentKind.PAID: PaymentKind.REFUND, PaymentKind.REFUND: PaymentKind.PAID}


@dataclass(frozen=True, slots=True)
class Money:
    """Money that changed hands, or was let go: amount in minor units. `keep`: what is above the bill stays the customer's."""

    kind: str
    amount_minor: int
    how: str = ""
    note: str = ""
    keep: bool = False


@transaction.atomic
def record_payment(invoice: Invoice, money: Money, *, person: Staff, at: datetime) -> Payment:
    """Payment, refund, waiver or write-off. More than is open is taken only where the customer leaves the rest with the shop."""
    current = _locked(invoice)
    if money.amount_minor <= 0:
        raise Refused("The sum must be above nothing.", field="amount")
    if money.kind not in BOOKED:
        raise Refused("Choose what this is: a payment, a refund, a waiver or a loss.", field="kind")
    if money.kind not in BY_THE_OWNER and money.how not in PayBy.values:
        raise Refused("Choose how it was paid.", field="how")
    account = _checked_against_account(current, money, person)
    booked = _book(current, money, person=person, at=at)
    keep(current, account.after(money.kind, money.amount_minor).due_minor)
    return booked


_LOCKED = by_key(Invoice, lock=True)


def _locked(invoice: Invoice) -> Invoice:
    lock_job(invoice.job)
    current = _LOCKED.get(invoice.pk)
    if current.is_credit:
        raise Refused("Money goes with the invoice, not with its credit note.", code="is_credit")
    return current


def _book(invoice: Invoice, money: Money, *, person: Staff, at: datetime, counterpart: Payment | None = None) -> Payment:
    return insert(
        Payment(
            invoice=invoice,
            kind=money.kind,
            amount_minor=money.amount_minor,
            how="" if money.kind in BY_THE_OWNER else money.how,
            note=money.note.strip()[:200],
            counterpart=counterpart,
            at=at,
            person=person,
        )
    )


def _checked_against_account(invoice: Invoice, money: Money, person: Staff) -> Account:
    account = account_of(invoice)
    if money.kind == PaymentKind.REFUND:
        _within_owed_back(invoice, money.amount_minor, account.due_minor)
    elif money.kind == PaymentKind.PAID:
        _within_open(invoice, money, account.open_minor)
    else:
        _within_due(invoice, money.amount_minor, account.due_minor)
        _by_the_owner(money, person)
    return account


def _within_owed_back(invoice: Invoice, amount_minor: int, due_minor: int) -> None:
    if amount_minor > -due_minor:
        owed = show(-due_minor, invoice.currency) if due_minor < 0 else "nothing"
        raise Refused(f"There is {owed} to give back on {invoice.number}.", field="amount")


def _within_open(invoice: Invoice, money: Money, open_minor: int) -> None:
    """What was written off or waived may still come in: it lowers the loss."""
    if money.amount_minor > open_minor and not money.keep:
        raise Refused(
            f"{_owed(invoice, open_minor)}; {show(money.amount_minor, invoice.currency)} is more. "
            "Correct the sum, or tick that the customer leaves the rest with the shop.",
            field="amount",
            code="too_much",
        )


def _within_due(invoice: Invoice, amount_minor: int, due_minor: int) -> None:
    if amount_minor > due_minor:
        more = show(amount_minor, invoice.currency)
        raise Refused(f"{_owed(invoice, due_minor)}; {more} is more.", field="amount", code="too_much")


def _owed(invoice: Invoice, minor: int) -> str:
    return f"{show(minor, invoice.currency) if minor > 0 else 'Nothing'} is due on {invoice.number}"


def _by_the_owner(money: Money, person: Staff) -> None:
    kind = PaymentKind(money.kind)
    if not person.is_owner:
        raise Refused(f"Only the owner {BY_THE_OWNER[kind]}.", code="owner_only")
    if not money.note.strip():
        raise Refused(WHY[kind], field="note")


@transaction.atomic
def move_credit(source: Invoice, goal: Invoice, amount_minor: int, *, person: Staff, at: datetime) -> Payment:
    """Use what is to be given back on one invoice to pay another of the same customer. Gives the line on the invoice paid."""
    giving, taking = _both_locked(source, goal)
    if amount_minor <= 0:
        raise Refused("The sum must be above nothing.", field="amount")
    _within_owed_back(giving, amount_minor, account_of(giving).due_minor)
    _within_due(taking, amount_minor, account_of(taking).open_minor)
    return _move(giving, taking, amount_minor, person=person, at=at)


def _both_locked(source: Invoice, goal: Invoice) -> tuple[Invoice, Invoice]:
    """Jobs first, then invoices, each by key: two moves that cross never wait for each other."""
    if source.pk == goal.pk:
        raise Refused("Choose another invoice than the one the money is on.", field="goal")
    for job in Job.objects.filter(pk__in={source.job_id, goal.job_id}).order_by("pk"):
        lock_job(job)
    locked = {one.pk: one for one in Invoice.objects.select_for_update().filter(pk__in=(source.pk, goal.pk)).order_by("pk")}
    giving, taking = locked[source.pk], locked[goal.pk]
    if giving.is_credit or taking.is_credit:
        raise Refused("Money goes with the invoice, not with its credit note.", field="goal", code="is_credit")
    if (giving.customer_id, giving.currency) != (taking.customer_id, taking.currency):
        raise Refused("Money is moved between invoices of one customer and one currency only.", field="goal")
    return giving, taking


def _move(
    giving: Invoice,
    taking: Invoice,
    amount_minor: int,
    *,
    person: Staff,
    at: datetime,
    note: str = "",
    back: Payment | None = None,
) -> Payment:
    out = _book(giving, Money(PaymentKind.MOVED_OUT, amount_minor, note=note), person=person, at=at, counterpart=back)
    booked = _book(taking, Money(PaymentKind.MOVED_IN, amount_minor, note=note), person=person, at=at, counterpart=out)
    keep_anew(giving, taking)
    return booked


@transaction.atomic
def take_back(payment: Payment, reason: str, *, person: Staff, at: datetime) -> Payment:
    """Undo a line of money that was a slip, or a cheque that came back: a line of its own, with the reason. Each line once.

    A payment is taken back by a refund of the same way of paying, a move by moving the sum back, what was let go by a line of
    its own kind, which only the owner writes.
    """
    if not reason.strip():
        raise Refused("Say why this is taken back.", field="reason")
    if payment.kind == PaymentKind.FROM_SALE:
        raise Refused("What a sale paid stands with the sale and can't be taken back alone.", code="from_sale")
    if payment.kind == PaymentKind.MOVED_OUT and hasattr(payment, "moved_from"):
        return take_back(payment.moved_from, reason, person=person, at=at)
    if payment.kind == PaymentKind.MOVED_IN:
        return _take_move_back(payment, reason, person=person, at=at)
    current = _locked(payment.invoice)
    _refuse_taken_back(payment)
    money = Money(TURNED.get(PaymentKind(payment.kind), payment.kind), payment.amount_minor, payment.how, reason)
    if money.kind in BY_THE_OWNER:
        _by_the_owner(money, person)
    booked = _book(current, money, person=person, at=at, counterpart=payment)
    keep_anew(current)
    return booked


def _take_move_back(moved_in: Payment, reason: str, *, person: Staff, at: datetime) -> Payment:
    out = moved_in.counterpart
    if out is None:
        raise Refused("This move has lost its other end. Run `manage.py verify`.", code="broken")
    giving, taking = _both_locked(moved_in.invoice, out.invoice)
    _refuse_taken_back(moved_in)
    return _move(giving, taking, moved_in.amount_minor, person=person, at=at, note=reason, back=moved_in)


def _refuse_taken_back(payment: Payment) -> None:
    """Asked under the lock, of the database: the page may be older than the taking back."""
    current = Payment.objects.select_related("moved_from", "counterpart").get(pk=payment.pk)
    if taken_back_by(current) is not None:
        raise Stale("This was taken back already.", code="taken_back")
    if current.counterpart_id and current.kind != PaymentKind.MOVED_IN:
        raise Refused("This line takes another one back; book the money anew instead.", code="takes_back")
