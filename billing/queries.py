"""Reading bills: what is billed, what is owed, what each line was drawn from."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import BigIntegerField, Case, Exists, F, OuterRef, Q, QuerySet, Subquery, Sum, Value, When
from django.db.models.functions import Coalesce

from billing.models import Invoice, InvoiceLine, LineKind, PaperKind, Payment, PaymentKind
from jobs.models import Job, LabourEntry, LogEntry
from jobs.queries.exposure import standing_labour, tax_key
from jobs.queries.sheet import Sheet, sheet_of
from shop.models import Profile, TaxRounding
from shop.money import show
from shop.search_text import fold
from shop.totals import Line, Totals, total


@dataclass(frozen=True, slots=True)
class BillLine:
    """A line as it would be billed: drawn from one entry of the log or of labour. `unit_minor` x `count` = `amount_minor`."""

    kind: str
    text: str
    count: int
    unit_minor: int
    amount_minor: int
    tax_bp: int
    charged: bool
    not_charged_reason: str = ""
    designator: str = ""
    part_class: str = ""
    minutes: int = 0
    entry: LogEntry | None = None
    labour: LabourEntry | None = None


def part_line(entry: LogEntry, designator: str, profile: Profile) -> BillLine:
    return BillLine(
        kind=LineKind.PART,
        text=entry.text,
        count=entry.count,
        unit_minor=(entry.unit_price_minor or 0) if entry.charged else 0,
        amount_minor=entry.price_minor,
        tax_bp=profile.parts_tax_bp,
        charged=entry.charged,
        not_charged_reason=entry.not_charged_reason,
        designator=designator,
        part_class=entry.part_class,
        entry=entry,
    )


def labour_line(entry: LabourEntry, profile: Profile) -> BillLine:
    text = entry.task.name if entry.task else entry.get_step_display()
    return BillLine(
        kind=LineKind.FLAT if entry.task else LineKind.LABOUR,
        text=f"{text}: {entry.text}" if entry.text else text,
        count=1,
        unit_minor=entry.billed_minor,
        amount_minor=entry.billed_minor,
        tax_bp=profile.labour_tax_bp,
        charged=entry.charged,
        not_charged_reason=entry.not_charged_reason,
        minutes=entry.charged_minutes,
        labour=entry,
    )


def billed_now(lines: "QuerySet[InvoiceLine]", column: str) -> set[int]:
    """Entries that stand on an invoice line which no credit note has taken back."""
    open_lines = lines.filter(credits_line__isnull=True, credited_by__isnull=True).exclude(**{column: None})
    return set(open_lines.values_list(column, flat=True))


def bill_lines(job: Job, profile: Profile, sheet: Sheet | None = None) -> list[BillLine]:
    """What is to be billed: every fitted part and every labour entry that stands on no invoice yet, charged or not."""
    sheet = sheet or sheet_of(job)
    on_paper = InvoiceLine.objects.filter(invoice__job=job)
    parts_billed, labour_billed = billed_now(on_paper, "entry_id"), billed_now(on_paper, "labour_id")
    lines = [
        part_line(fit, row.position.designator, profile) for row in sheet.rows for fit in row.fitted if fit.pk not in parts_billed
    ]
    lines += [labour_line(entry, profile) for entry in standing_labour(job) if entry.pk not in labour_billed]
    return lines


def totals_of(lines: Iterable[BillLine], profile: Profile, prepaid_minor: int = 0) -> Totals:
    rows = [Line(Decimal(1), Decimal(line.amount_minor), tax_key(line.tax_bp)) for line in lines]
    return total(
        rows,
        prices_include_tax=profile.prices_include_tax,
        round_per_line=profile.tax_rounding == TaxRounding.LINE,
        prepaid_minor=prepaid_minor,
    )


def frozen_totals(invoice: Invoice, lines: Iterable[InvoiceLine]) -> Totals:
    """An issued paper's totals from its own rows and terms alone, whatever the shop's terms are today."""
    return total(
        [Line(Decimal(1), Decimal(line.amount_minor), tax_key(line.tax_bp)) for line in lines],
        prices_include_tax=invoice.prices_include_tax,
        round_per_line=invoice.tax_rounding == TaxRounding.LINE,
        prepaid_minor=invoice.prepaid_minor,
    )


def deposits_minor(job: Job) -> int:
    """Deposits taken less those given back."""
    sums = dict(job.deposits.values_list("given_back").annotate(Sum("amount_minor")))
    return sums.get(False, 0) - sums.get(True, 0)


def deposits_left_minor(job: Job) -> int:
    """Deposits that no invoice has used up. A credited invoice frees what it had set off, less what was refunded through it."""
    invoices = with_account(job.invoices.filter(kind=PaperKind.INVOICE))
    return deposits_minor(job) - sum(account_of(invoice).prepaid_minor for invoice in invoices)


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


def standing_of(invoice: Any, day: date) -> tuple[str, str]:
    """Mark and word for an invoice that `with_account` has read."""
    if invoice.is_credit:
        return "note", "Credit note"
    if invoice.due < 0:
        return "warn", "Money to give back"
    if invoice.is_credited:
        return "note", "Credited"
    if invoice.due == 0:
        return "yes", "Settled"
    return ("no", "Overdue") if invoice.due_on < day else ("wait", "Open")


SHOWN = (("", "All"), ("open", "Open"), ("settled", "Settled"), ("credits", "Credit notes"))


def invoices_like(text: str = "", shown: str = "") -> "QuerySet[Invoice]":
    """Invoices and credit notes by number, job or customer, the newest first; `shown` is one of SHOWN's codes."""
    found: QuerySet[Any] = with_account(Invoice.objects.select_related("job", "customer"))
    for word in fold(text).split():
        found = found.filter(Q(number__icontains=word) | Q(job__number__icontains=word) | Q(customer__search__contains=word))
    if shown == "credits":
        return found.filter(kind=PaperKind.CREDIT_NOTE)
    if shown == "open":
        return found.filter(kind=PaperKind.INVOICE).exclude(due=0)
    return found.filter(kind=PaperKind.INVOICE, due=0) if shown == "settled" else found
