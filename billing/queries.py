"""Reading bills: what is billed, what is owed, what each line was drawn from."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet, Sum

from billing.models import Invoice, InvoiceLine, LineKind, PaperKind, PaymentKind
from jobs.models import Job, LabourEntry, LogEntry
from jobs.queries.exposure import standing_labour, tax_key
from jobs.queries.sheet import Sheet, sheet_of
from shop.models import Profile, TaxRounding
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


def deposits_minor(job: Job) -> int:
    """Deposits taken less those given back."""
    sums = dict(job.deposits.values_list("given_back").annotate(Sum("amount_minor")))
    return sums.get(False, 0) - sums.get(True, 0)


def deposits_left_minor(job: Job) -> int:
    """Deposits that no standing invoice sets off. A credited invoice frees what it had set off."""
    standing = job.invoices.filter(kind=PaperKind.INVOICE, credit_notes__isnull=True)
    return deposits_minor(job) - (standing.aggregate(sum=Sum("prepaid_minor"))["sum"] or 0)


@dataclass(frozen=True, slots=True)
class Account:
    """Where an invoice's money stands, in minor units. `due_minor` below nothing is money to give back."""

    gross_minor: int
    credited_minor: int
    prepaid_minor: int
    paid_minor: int
    refunded_minor: int
    waived_minor: int

    @property
    def due_minor(self) -> int:
        return (
            self.gross_minor
            - self.credited_minor
            - self.prepaid_minor
            - self.paid_minor
            + self.refunded_minor
            - self.waived_minor
        )

    @property
    def is_settled(self) -> bool:
        return self.due_minor == 0


def account_of(invoice: Invoice) -> Account:
    sums = dict(invoice.payments.values_list("kind").annotate(Sum("amount_minor")))
    credited = invoice.credit_notes.aggregate(sum=Sum("gross_minor"))["sum"] or 0
    prepaid = 0 if credited else invoice.prepaid_minor
    return Account(
        invoice.gross_minor,
        credited,
        prepaid,
        sums.get(PaymentKind.PAID, 0),
        sums.get(PaymentKind.REFUND, 0),
        sums.get(PaymentKind.WAIVED, 0),
    )


def money_missing(job: Job) -> list[str]:
    """What stands between a job and its hand-over, on the side of money."""
    profile = Profile.current()
    missing = []
    if profile is not None and bill_lines(job, profile):
        missing.append("an invoice for the work done")
    for invoice in job.invoices.filter(kind=PaperKind.INVOICE):
        due = account_of(invoice).due_minor
        if due > 0:
            missing.append(f"payment of invoice {invoice.number}, or the owner's waiver")
        elif due < 0:
            missing.append(f"the refund that invoice {invoice.number} still owes the customer")
    if deposits_left_minor(job) > 0 and not missing:
        missing.append("the deposit set off on an invoice or given back")
    return missing
