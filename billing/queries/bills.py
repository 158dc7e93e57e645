"""What is to be billed, drawn from the log, and what an issued paper comes to by its own rows."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Exists, OuterRef, QuerySet

from billing.models import Invoice, InvoiceLine, LineKind, PaperKind
from jobs.models import Job, LabourEntry, LogEntry
from jobs.queries.exposure import placed_parts, tax_key, worked_on
from shop.models import Profile, TaxRounding
from shop.prepared import Prepared
from shop.tax_terms import labour_tax, parts_tax
from shop.totals import Line, Totals, total

# A fitted part with the designator of its place.
Placed = tuple[str, LogEntry]


@dataclass(frozen=True, slots=True)
class BillLine:
    """A line as it would be billed: drawn from one entry of the log or of labour. `unit_minor` x `count` = `amount_minor`.

    `bill_round`: how often the entry was billed and credited before.
    """

    kind: str
    text: str
    count: int
    unit_minor: int
    amount_minor: int
    tax_bp: int
    charged: bool
    not_charged_reason: str = ""
    tax_category: str = ""
    designator: str = ""
    part_class: str = ""
    minutes: int = 0
    entry: LogEntry | None = None
    labour: LabourEntry | None = None
    bill_round: int = 0


# The last round of what was never billed, and whether it stands on a bill.
NEVER = (-1, False)


def part_line(entry: LogEntry, designator: str, profile: Profile, bill_round: int = 0) -> BillLine:
    tax = parts_tax(profile)
    return BillLine(
        kind=LineKind.PART,
        text=entry.text,
        count=entry.count,
        unit_minor=(entry.unit_price_minor or 0) if entry.charged else 0,
        amount_minor=entry.price_minor,
        tax_bp=int(tax.rate_bp),
        tax_category=tax.category,
        charged=entry.charged,
        not_charged_reason=entry.not_charged_reason,
        designator=designator,
        part_class=entry.part_class,
        entry=entry,
        bill_round=bill_round,
    )


def labour_line(entry: LabourEntry, profile: Profile, bill_round: int = 0) -> BillLine:
    text = entry.task.name if entry.task else entry.get_step_display()
    if entry.task_count > 1:
        text = f"{entry.task_count} × {text}"
    return BillLine(
        kind=LineKind.FLAT if entry.task else LineKind.LABOUR,
        text=f"{text}: {entry.text}" if entry.text else text,
        count=1,
        unit_minor=entry.billed_minor,
        amount_minor=entry.billed_minor,
        tax_bp=int(labour_tax(profile).rate_bp),
        tax_category=labour_tax(profile).category,
        charged=entry.charged,
        not_charged_reason=entry.not_charged_reason,
        minutes=entry.charged_minutes,
        labour=entry,
        bill_round=bill_round,
    )


def standing(lines: "QuerySet[InvoiceLine]") -> "QuerySet[InvoiceLine]":
    """Lines of invoices that stand: a credit note over the whole takes a line back, a note in part lowers what it charges."""
    return not_taken_back(lines).filter(credits_line__isnull=True)


def not_taken_back(lines: "QuerySet[InvoiceLine]") -> "QuerySet[InvoiceLine]":
    """The same of lines that are known to be an invoice's: those of notes are few, which a planner doesn't know."""
    return lines.filter(~Exists(InvoiceLine.objects.filter(credits_line=OuterRef("pk"), invoice__whole=True)))


def standing_invoices(job: Job) -> "QuerySet[Invoice]":
    """The job's invoices that no credit note over the whole has taken back, the first one first."""
    taken_back = Invoice.objects.filter(credits=OuterRef("pk"), whole=True)
    return Invoice.objects.filter(~Exists(taken_back), job=job, kind=PaperKind.INVOICE).order_by("pk")


_BILLED = Prepared(
    lambda job: (
        InvoiceLine.objects.filter(invoice__job=job)
        .order_by()
        .values_list("pk", "entry", "labour", "bill_round", "credits_line", "invoice__whole")
    )
)


def _billed_before(job: Job) -> dict[tuple[int | None, int | None], tuple[int, bool]]:
    """By keys of entry and labour: the last round, and whether it stands on a line that no note over the whole took back."""
    lines = _BILLED.tuples(job.pk)
    taken_back = {credits for *_, credits, whole in lines if whole}
    found: dict[tuple[int | None, int | None], tuple[int, bool]] = {}
    for key, entry, labour, bill_round, credits, _ in lines:
        if credits is None:
            last, stands = found.get((entry, labour), (0, False))
            found[entry, labour] = (max(last, bill_round), stands or key not in taken_back)
    return found


def bill_lines(
    job: Job, profile: Profile, placed: Sequence[Placed] | None = None, labour: Sequence[LabourEntry] | None = None
) -> list[BillLine]:
    """What is to be billed: every fitted part and every labour entry that stands on no invoice yet, charged or not.

    `placed`: what is fitted with the designators of its places, as `Sheet.placed`; `labour`: all that stands.
    """
    fits, before = placed_parts(job) if placed is None else placed, _billed_before(job)
    worked = worked_on(job) if labour is None else labour
    lines = []
    for designator, fit in fits:
        last, stands = before.get((fit.pk, None), NEVER)
        if not stands:
            lines.append(part_line(fit, designator, profile, last + 1))
    for entry in worked:
        last, stands = before.get((None, entry.pk), NEVER)
        if not stands:
            lines.append(labour_line(entry, profile, last + 1))
    return lines


def totals_of(lines: Iterable[BillLine], profile: Profile, prepaid_minor: int = 0) -> Totals:
    rows = [Line(Decimal(1), Decimal(line.amount_minor), tax_key(line.tax_bp, line.tax_category)) for line in lines]
    return total(
        rows,
        prices_include_tax=profile.prices_include_tax,
        round_per_line=profile.tax_rounding == TaxRounding.LINE,
        prepaid_minor=prepaid_minor,
    )


def frozen_rows(lines: Iterable[InvoiceLine]) -> list[Line]:
    """Lines of an issued paper as they are reckoned: the amount as it was priced, under the tax it was billed with."""
    return [Line(Decimal(1), Decimal(line.amount_minor), tax_key(line.tax_bp, line.tax_category)) for line in lines]


def own_totals(invoice: Invoice, lines: Iterable[InvoiceLine]) -> Totals:
    """An issued invoice's totals from its own rows and terms alone. Of any paper, `frozen_totals` (`frozen.py`) knows."""
    return total(
        frozen_rows(lines),
        prices_include_tax=invoice.prices_include_tax,
        round_per_line=invoice.tax_rounding == TaxRounding.LINE,
        prepaid_minor=invoice.prepaid_minor,
    )
