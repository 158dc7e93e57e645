"""Where the money of an invoice stands, and what a job still needs before its set may go."""

from dataclasses import dataclass
from typing import Any

from django.db.models import BigIntegerField, Case, Exists, F, OuterRef, QuerySet, Subquery, Sum, Value, When
from django.db.models.functions import Coalesce

from billing.models import Invoice, PaperKind, Payment, PaymentKind
from billing.queries.bills import bill_lines
from jobs.models import Job
from shop.models import Profile
from shop.money import show


@dataclass(frozen=True, slots=True)
class Account:
    """Where an invoice's money stands, in minor units. `due_minor` below nothing is money to give back.

    A credited invoice charges nothing: of its deposits only what was refunded through it stays used, and its waivers are void.
    """

    gross_minor: int
    credited_minor: int
    prepaid_minor: int
    paid_minor: int
    refunded_minor: int
    waived_minor: int

    @property
    def due_minor(self) -> int:
        charged = self.gross_minor - self.credited_minor - self.waived_minor
        return charged - self.prepaid_minor - self.paid_minor + self.refunded_minor

    @property
    def is_settled(self) -> bool:
        return self.due_minor == 0


def _paid_sum(kind: str) -> Coalesce:
    return _sum_of(Payment.objects.filter(invoice=OuterRef("pk"), kind=kind), "invoice", "amount_minor")


def _sum_of(rows: "QuerySet[Any]", by: str, column: str) -> Coalesce:
    sums = rows.order_by().values(by).annotate(sum=Sum(column)).values("sum")
    return Coalesce(Subquery(sums), Value(0), output_field=BigIntegerField())


def with_account(invoices: "QuerySet[Invoice]") -> "QuerySet[Invoice]":
    """Adds what `account_of` reads, and `due`, so that a list of invoices takes one query."""
    credits = Invoice.objects.filter(credits=OuterRef("pk"))
    sums = invoices.annotate(
        credited=_sum_of(credits, "credits", "gross_minor"),
        is_credited=Exists(credits),
        paid=_paid_sum(PaymentKind.PAID),
        refunded=_paid_sum(PaymentKind.REFUND),
        waived=_paid_sum(PaymentKind.WAIVED),
    )
    standing = F("gross_minor") - F("prepaid_minor") - F("paid") - F("waived") + F("refunded")
    owed_back = Case(When(paid__gt=F("refunded"), then=F("refunded") - F("paid")), default=Value(0))
    due = Case(
        When(kind=PaperKind.CREDIT_NOTE, then=Value(0)),
        When(is_credited=True, then=owed_back),
        default=standing,
        output_field=BigIntegerField(),
    )
    return sums.annotate(due=due)


def account_of(invoice: Invoice) -> Account:
    """The account of an invoice; reads its sums where `with_account` didn't bring them."""
    known: Any = invoice if hasattr(invoice, "refunded") else with_account(Invoice.objects.filter(pk=invoice.pk)).get()
    used = min(invoice.prepaid_minor, max(0, known.refunded - known.paid)) if known.is_credited else invoice.prepaid_minor
    waived = 0 if known.is_credited else known.waived
    return Account(invoice.gross_minor, known.credited, used, known.paid, known.refunded, waived)


def deposits_minor(job: Job) -> int:
    """Deposits taken less those given back."""
    sums = dict(job.deposits.values_list("given_back").annotate(Sum("amount_minor")))
    return sums.get(False, 0) - sums.get(True, 0)


def deposits_left_minor(job: Job) -> int:
    """Deposits that no invoice has used up. A credited invoice frees what it had set off, less what was refunded through it."""
    invoices = with_account(job.invoices.filter(kind=PaperKind.INVOICE))
    return deposits_minor(job) - sum(account_of(invoice).prepaid_minor for invoice in invoices)


def money_missing(job: Job) -> list[str]:
    """What stands between a job and its hand-over, on the side of money."""
    profile = Profile.current()
    missing = []
    if profile is not None and bill_lines(job, profile):
        missing.append("an invoice for the work done")
    for invoice in with_account(job.invoices.filter(kind=PaperKind.INVOICE)):
        due = account_of(invoice).due_minor
        if due > 0:
            missing.append(f"payment of invoice {invoice.number}, or the owner's waiver")
        elif due < 0:
            missing.append(f"the refund that invoice {invoice.number} still owes the customer")
    if deposits_left_minor(job) > 0 and not missing:
        missing.append("the deposit set off on an invoice or given back")
    return missing


def money_words(job: Job) -> str:
    """How the money stood, for the hand-over's record: `R-2026-0001: 64.00 paid, 20.00 waived by the owner`."""
    words = []
    for invoice in with_account(job.invoices.filter(kind=PaperKind.INVOICE)):
        account = account_of(invoice)
        sums = (
            (account.credited_minor, "credited"),
            (account.prepaid_minor, "set off from the deposit"),
            (account.paid_minor, "paid"),
            (account.refunded_minor, "paid back"),
            (account.waived_minor, "waived by the owner"),
        )
        told = [f"{show(minor, invoice.currency)} {what}" for minor, what in sums if minor]
        words.append(f"{invoice.number}: {', '.join(told) or 'nothing charged'}")
    return "; ".join(words) or "nothing was billed"
