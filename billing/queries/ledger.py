"""An invoice's account from the first day on: one step for each paper and each line of money, with the account before and after.

Everything that needs the past is a fold over these steps: the statement, the journal, what the customer left with the shop.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime

from django.db.models import Prefetch, Q, QuerySet
from django.utils import timezone

from billing.models import Invoice, PaperKind, Payment, PaymentKind
from billing.queries.accounts import LET_GO, MONEY_OUT, Account, end_of, start_of

# Invoices whose history is read together: a database takes so many keys in one question, and memory so many rows.
AT_ONCE = 1_000
NOTHING = Account(0, 0, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Step:
    """What one paper or one line of money did to the account of `invoice`. `money` is None for a paper."""

    invoice: Invoice
    at: datetime
    on: date
    paper: Invoice
    money: Payment | None
    before: Account
    after: Account

    @property
    def due_minor(self) -> int:
        return self.after.due_minor - self.before.due_minor

    @property
    def words(self) -> str:
        return payment_words(self.money) if self.money else paper_words(self.paper)

    def parts(self) -> list[tuple[str, int]]:
        """What it did, each with what it added to the sum due; together they are `due_minor`."""
        before, after, name = self.before, self.after, self.invoice.number
        deposit = after.prepaid_minor - before.prepaid_minor
        waived, lost = after.waived_minor - before.waived_minor, after.lost_minor - before.lost_minor
        told = [
            (self.words, charged(after) - charged(before)),
            (f"{self.words} on {name}", before.money_minor - after.money_minor),
            (f"Deposit set off on {name}" if deposit > 0 else f"Deposit of {name} free again", -deposit),
            (f"Waived on {name}" if waived > 0 else f"No longer waived on {name}", -waived),
            (f"Written off on {name}" if lost > 0 else f"No longer lost on {name}", -lost),
        ]
        return [(text, minor) for text, minor in told if minor]


def charged(account: Account) -> int:
    return 0 if account.is_credited else account.gross_minor - account.credited_minor


def paper_words(paper: Invoice) -> str:
    if not paper.is_credit:
        return f"Invoice {paper.number}"
    return f"Credit note {paper.number}" if paper.whole else f"Credit note in part {paper.number}"


WORDS: dict[str, str] = {
    PaymentKind.PAID: "Paid",
    PaymentKind.REFUND: "Paid back",
    PaymentKind.WAIVED: "Waived",
    PaymentKind.WRITTEN_OFF: "Written off as lost",
    PaymentKind.MOVED_OUT: "Moved to another invoice",
    PaymentKind.MOVED_IN: "Moved from another invoice",
    PaymentKind.FROM_SALE: "Out of the sale of the uncollected set",
}


def payment_words(payment: Payment) -> str:
    """`Paid, card`, `Moved to R-2026-0007`; what takes another line back says so. Reads `counterpart` and `moved_from`."""
    how = f", {payment.get_how_display().lower()}" if payment.how else ""
    if takes_back(payment):
        return f"{WORDS[payment.counterpart.kind]} by mistake, taken back{how}"  # type: ignore[union-attr]
    if payment.kind == PaymentKind.MOVED_IN and payment.counterpart:
        return f"Moved from {payment.counterpart.invoice.number}"
    if payment.kind == PaymentKind.MOVED_OUT and hasattr(payment, "moved_from"):
        return f"Moved to {payment.moved_from.invoice.number}"
    return f"{WORDS[payment.kind]}{how}"


def taken_back_by(payment: Payment) -> Payment | None:
    """The later line that took this one back, if any."""
    later = getattr(payment, "moved_from", None)
    if payment.kind == PaymentKind.MOVED_OUT and later is not None:
        later = getattr(later, "moved_from", None)
    return later if later is not None and takes_back(later) else None


def takes_back(payment: Payment) -> bool:
    """Whether a line takes another one back. A move's incoming line names its outgoing one, and takes nothing back."""
    return payment.counterpart_id is not None and payment.kind != PaymentKind.MOVED_IN


def steps_of(invoice: Invoice) -> list[Step]:
    """Every step, oldest first. `with_history` reads what it needs."""
    happened: list[tuple[datetime, int, int, Invoice, Payment | None]] = [(invoice.at, 0, invoice.pk, invoice, None)]
    happened += [(note.at, 1, note.pk, note, None) for note in invoice.credit_notes.all()]  # type: ignore[attr-defined]
    happened += [(one.at, 2, one.pk, invoice, one) for one in invoice.payments.all()]  # type: ignore[attr-defined]
    return list(_walk(invoice, sorted(happened, key=lambda one: one[:3])))


def _walk(invoice: Invoice, happened: Iterable[tuple[datetime, int, int, Invoice, Payment | None]]) -> Iterator[Step]:
    account = NOTHING
    for at, _, _, paper, money in happened:
        after = _paid(account, money) if money else _written(account, paper)
        yield Step(invoice, at, timezone.localdate(at) if money else paper.issued_on, paper, money, account, after)
        account = after


def _written(account: Account, paper: Invoice) -> Account:
    if not paper.is_credit:
        return replace(account, gross_minor=paper.gross_minor, deposit_minor=paper.prepaid_minor)
    credited = account.credited_minor + paper.gross_minor
    return replace(account, credited_minor=credited, is_credited=account.is_credited or paper.whole)


_SUMS: dict[str, str] = {
    PaymentKind.PAID: "paid_minor",
    PaymentKind.REFUND: "refunded_minor",
    PaymentKind.MOVED_IN: "moved_in_minor",
    PaymentKind.MOVED_OUT: "moved_out_minor",
    PaymentKind.FROM_SALE: "from_sale_minor",
    PaymentKind.WAIVED: "let_go_minor",
    PaymentKind.WRITTEN_OFF: "let_go_minor",
}


def _paid(account: Account, money: Payment) -> Account:
    amount = -money.amount_minor if money.kind in LET_GO and money.counterpart_id else money.amount_minor
    sums = {_SUMS[money.kind]: getattr(account, _SUMS[money.kind]) + amount}
    if money.kind == PaymentKind.WRITTEN_OFF:
        sums["lost_booked_minor"] = account.lost_booked_minor + amount
    return replace(account, **sums)  # type: ignore[arg-type]


# What a payment points to is joined: fetched apart, a thousand would make one expression too deep for SQLite.
HISTORY = ("credit_notes", Prefetch("payments", Payment.objects.select_related("counterpart__invoice", "moved_from__invoice")))


def with_history(invoices: "QuerySet[Invoice]") -> "QuerySet[Invoice]":
    """Reads what `steps_of` walks over, whatever the number of invoices."""
    kept = invoices.filter(kind=PaperKind.INVOICE).select_related("customer", "job")
    return kept.prefetch_related(*HISTORY)


def touched(first: date, last: date) -> Q:
    """Invoices to which something happened from the first to the last day: a paper, a note on it, money."""
    start, end = start_of(first), end_of(last)
    return (
        Q(issued_on__range=(first, last))
        | Q(pk__in=Invoice.objects.filter(issued_on__range=(first, last)).exclude(credits=None).values("credits"))
        | Q(pk__in=Payment.objects.filter(at__gte=start, at__lt=end).values("invoice"))
    )


def kept_minor(invoice: Invoice) -> int:
    """What the customer paid above the bill and chose to leave with the shop, less what went back or was moved since."""
    kept = 0
    for step in steps_of(with_history(Invoice.objects.filter(pk=invoice.pk)).get()):
        if step.money is not None and step.money.kind == PaymentKind.PAID and not takes_back(step.money):
            kept += max(0, -step.after.due_minor) - max(0, -step.before.due_minor)
        elif step.money is not None and step.money.kind in MONEY_OUT:
            kept -= step.money.amount_minor
        kept = min(max(kept, 0), max(0, -step.after.due_minor))
    return kept
