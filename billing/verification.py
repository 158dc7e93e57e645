"""The till derived again: bills from their lines, lines from the log, numbers, credit notes, deposits, accounts."""

from collections.abc import Iterator
from itertools import groupby
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch

from billing.models import Invoice, InvoiceLine, LineKind, OpenAccount, PaperKind, Payment, PaymentKind, UncollectedSale
from billing.queries import (
    account_of,
    deposits_left_minor,
    frozen_totals,
    standing,
    steps_of,
    taken_by,
    takes_back,
    with_account,
)
from billing.queries.accounts import FIRST_DAY, LAST_DAY
from billing.queries.journal import journal_of
from billing.queries.ledger import AT_ONCE, HISTORY
from billing.queries.periods import Period
from billing.queries.sales import sales, split_of
from inventory.models import Order
from jobs.models import Job, Stage
from jobs.queries.sheet import sheet_of
from shop.differences import Found, Looker, differ, look
from shop.models import NumberSeries, Profile


def sums() -> Found:
    """Net, tax and gross of every paper are those of its own lines under its own terms."""
    papers = Invoice.objects.prefetch_related("lines")
    return look("bills: sums come from the lines", (_sums_differ(one) for one in papers))


def _sums_differ(paper: Invoice) -> Iterator[str]:
    lines = list(paper.lines.all())  # type: ignore[attr-defined]
    totals = frozen_totals(paper, lines)
    for name in ("net_minor", "tax_minor", "gross_minor"):
        yield from differ(f"{name} of {paper.number}", getattr(paper, name), getattr(totals, name))
    yield from differ(f"lines without tax of {paper.number}", [line.net_minor for line in lines], list(totals.line_net_minor))
    for line in lines:
        yield from differ(f"line {line.order} of {paper.number}", line.amount_minor, line.unit_minor * line.count)
        if not line.charged and (line.amount_minor or not line.not_charged_reason):
            yield f"line {line.order} of {paper.number} is charged or gives no reason"


def lines_from_log() -> Found:
    """Every line says what the entry it was drawn from says."""
    lines = InvoiceLine.objects.filter(credits_line=None).select_related("invoice", "entry__position", "labour")
    return look("bills: lines come from the log", (_line_differs(one) for one in lines))


def _line_differs(line: InvoiceLine) -> Iterator[str]:
    name = f"line {line.order} of {line.invoice.number}"
    if line.entry is not None:
        drawn = (line.entry.price_minor, line.entry.count, line.entry.charged, line.entry.part_class)
        yield from differ(name, (line.amount_minor, line.count, line.charged, line.part_class), drawn)
        yield from differ(f"position of {name}", line.designator, line.entry.position.designator if line.entry.position else "")
    elif line.labour is not None:
        drawn_labour = (line.labour.billed_minor, line.labour.charged)
        yield from differ(name, (line.amount_minor, line.charged), drawn_labour)
    else:
        yield f"{name} was drawn from nothing"


def numbers() -> Found:
    """The papers of each series and year, orders to suppliers too, count from 1 without gap or double, up to the counter."""
    rows = Invoice.objects.order_by("series", "year", "sequence").values_list("series", "year", "sequence")
    kept = {key: [row[2] for row in found] for key, found in groupby(rows, key=lambda row: (row[0], row[1]))}
    written = [*Job.objects.values_list("number", flat=True), *Order.objects.exclude(number="").values_list("number", flat=True)]
    parts = [number.split("-") for number in written]
    for series, year, sequence in sorted((p[0], int(p[1]), int(p[2])) for p in parts if len(p) == 3 and p[2].isdecimal()):
        kept.setdefault((series, year), []).append(sequence)
    counters = {(row.series, row.year): row.last for row in NumberSeries.objects.all()}
    keys = sorted(kept.keys() | counters.keys())
    return look("numbers: no gap and no double", (_numbers_differ(key, kept.get(key, []), counters.get(key, 0)) for key in keys))


def _numbers_differ(key: tuple[str, int], found: list[int], last: int) -> Iterator[str]:
    if found != list(range(1, last + 1)):
        yield f"series {key[0]}-{key[1]}: counter at {last}, given {found}"


def credit_notes() -> Found:
    """No line is credited by more than it charges; a note over the whole comes last and leaves nothing, to the smallest coin."""
    credited = Invoice.objects.filter(kind=PaperKind.INVOICE, credit_notes__isnull=False).distinct()
    # Joined: fetched apart, a thousand lines would make one expression too deep for SQLite.
    noted = InvoiceLine.objects.select_related("credits_line")
    listed = credited.prefetch_related("lines", Prefetch("credit_notes__lines", noted))
    return look("bills: credit notes keep to their invoice", (_credit_differs(one) for one in listed))


def _credit_differs(invoice: Invoice) -> Iterator[str]:
    notes = sorted(invoice.credit_notes.all(), key=lambda note: note.pk)  # type: ignore[attr-defined]
    lines = [line for note in notes for line in note.lines.all()]
    for line in lines:
        yield from _credited_line_differs(line, invoice)
    taken = taken_by(lines)
    for line in invoice.lines.all():  # type: ignore[attr-defined]
        if taken[line.pk] > line.amount_minor:
            yield f"line {line.order} of {invoice.number} is credited by {taken[line.pk]}, and charges {line.amount_minor}"
    if any(note.whole for note in notes[:-1]):
        yield f"{invoice.number} was credited again after it had been credited as a whole"
    if notes[-1].whole:
        yield from _whole_differs(invoice, notes, lines)


def _credited_line_differs(line: InvoiceLine, invoice: Invoice) -> Iterator[str]:
    credited = line.credits_line
    if credited is None or credited.invoice_id != invoice.pk:
        yield f"line {line.order} of {line.invoice_id} credits no line of {invoice.number}"
        return
    for name in ("kind", "entry_id", "labour_id", "tax_bp", "tax_category", "charged", "part_class"):
        yield from differ(f"{name} of a credited line of {invoice.number}", getattr(line, name), getattr(credited, name))


def _whole_differs(invoice: Invoice, notes: list[Invoice], lines: list[InvoiceLine]) -> Iterator[str]:
    last = sorted(line.credits_line_id or 0 for line in lines if line.invoice_id == notes[-1].pk)
    mine = invoice.lines.all()  # type: ignore[attr-defined]
    yield from differ(f"lines of {notes[-1].number}", last, sorted(line.pk for line in mine))
    for name in ("net_minor", "tax_minor", "gross_minor"):
        yield from differ(f"{name} credited of {invoice.number}", sum(getattr(n, name) for n in notes), getattr(invoice, name))


def billed_jobs() -> Found:
    """A job counts as billed exactly while an invoice of it stands, and that bill's parts total is the log's."""
    taken_back = Invoice.objects.filter(credits=OuterRef("pk"), whole=True)
    with_bill = set(Invoice.objects.filter(~Exists(taken_back), kind=PaperKind.INVOICE).values_list("job_id", flat=True))
    return look(
        "bills: billed jobs have a standing bill", (_billed_differs(job, job.pk in with_bill) for job in Job.objects.all())
    )


def _billed_differs(job: Job, has_bill: bool) -> Iterator[str]:
    yield from differ(f"{job.number} billed", job.billed, has_bill)
    if has_bill:
        lines = standing(InvoiceLine.objects.all()).filter(invoice__job=job, kind=LineKind.PART)
        billed = sum(line.amount_minor for line in lines)
        yield from differ(f"parts total billed of {job.number}", billed, sheet_of(job).parts_minor)


def finished_jobs() -> Found:
    """On a closed job every fitted part is on exactly one standing line, but where its invoice was credited and not made anew."""
    closed = Job.objects.filter(stage__in=(Stage.HANDED_OVER, Stage.RETURNED, Stage.SOLD))
    return look("bills: every part of a closed job is on one line", (_finished_differs(job) for job in closed))


def _finished_differs(job: Job) -> Iterator[str]:
    credited = job.invoices.filter(credit_notes__whole=True).exists() and not job.billed  # type: ignore[attr-defined]
    on_paper = standing(InvoiceLine.objects.filter(invoice__job=job, entry__isnull=False))
    lines = list(on_paper.values_list("entry_id", flat=True))
    for fit in sheet_of(job).fitted:
        if lines.count(fit.pk) != (0 if credited else 1):
            yield f"{fit.text} of {job.number} is on {lines.count(fit.pk)} lines"


def deposits() -> Found:
    """No bill uses more of a job's deposits than was taken."""
    jobs = Job.objects.filter(deposits__isnull=False).distinct()
    return look("money: deposits cover what bills set off", (_deposit_differs(job) for job in jobs))


def _deposit_differs(job: Job) -> Iterator[str]:
    left = deposits_left_minor(job)
    if left < 0:
        yield f"bills of {job.number} set off {-left} more than was taken"


def accounts() -> Found:
    """What the list reckons as due is what the account comes to, and what all its steps from the first day on add up to."""
    papers = with_account(Invoice.objects.prefetch_related(*HISTORY)).iterator(chunk_size=AT_ONCE)
    opened = dict(OpenAccount.objects.values_list("invoice", "due_minor"))
    return look("money: accounts add up", (_account_differs(one, opened.get(one.pk, 0)) for one in papers))


def _account_differs(paper: Invoice, kept_minor: int) -> Iterator[str]:
    yield from differ(f"kept as due of {paper.number}", kept_minor, paper.due)  # type: ignore[attr-defined]
    if paper.is_credit:
        if paper.payments.all():  # type: ignore[attr-defined]
            yield f"credit note {paper.number} bears a payment"
        return
    due = account_of(paper).due_minor
    yield from differ(f"due of {paper.number}", paper.due, due)  # type: ignore[attr-defined]
    yield from differ(f"steps of {paper.number}", due, sum(step.due_minor for step in steps_of(paper)))


def moves() -> Found:
    """Money that left one invoice came in on another of the same customer; what was taken back is the sum that was booked."""
    heads = ("invoice", "counterpart__invoice", "moved_from__invoice")
    return look("money: moves and slips come in pairs", (_pair_differs(one) for one in Payment.objects.select_related(*heads)))


def _pair_differs(payment: Payment) -> Iterator[str]:
    name, other = f"{payment.get_kind_display().lower()} on {payment.invoice.number}", payment.counterpart
    if payment.kind == PaymentKind.MOVED_OUT and getattr(payment, "moved_from", None) is None:
        yield f"{name} came in nowhere"
    if payment.kind == PaymentKind.MOVED_IN and (other is None or other.kind != PaymentKind.MOVED_OUT):
        yield f"{name} came from nowhere"
    if other is None:
        return
    yield from differ(f"sum of {name}", payment.amount_minor, other.amount_minor)
    same = (other.invoice.customer_id, other.invoice.currency)
    yield from differ(f"customer and currency of {name}", (payment.invoice.customer_id, payment.invoice.currency), same)
    if takes_back(payment) and payment.invoice_id != other.invoice_id:
        yield f"{name} takes back a line of {other.invoice.number}"


def uncollected_sales() -> Found:
    """A sale's price is shared by its own rule, its money stands on the job's invoices, no more is paid out than was left."""
    listed = sales().prefetch_related("job__invoices__payments")
    sold = set(UncollectedSale.objects.values_list("job_id", flat=True))
    closed = set(Job.objects.filter(stage=Stage.SOLD).values_list("pk", flat=True))
    paid = Payment.objects.filter(kind=PaymentKind.FROM_SALE).exclude(invoice__job__in=sold).count()
    return look("money: sales of uncollected sets", [*(_sale_differs(one) for one in listed), _sold_differs(sold, closed, paid)])


def _sale_differs(sale: Any) -> Iterator[str]:
    name, split = f"sale of {sale.job.number}", split_of(sale.price_minor, sale.costs_minor, sale.owed_minor)
    lines = [line for paper in sale.job.invoices.all() for line in paper.payments.all() if line.kind == PaymentKind.FROM_SALE]
    yield from differ(f"{name}, paid of what was owed", sum(line.amount_minor for line in lines), split.paid_minor)
    yield from differ(f"{name}, left for the owner", sale.surplus_minor, split.surplus_minor)
    if sale.left < 0:
        yield f"{name} paid out {-sale.left} more than was left"


def _sold_differs(sold: set[int], closed: set[int], strays: int) -> Iterator[str]:
    for pk in sorted(sold ^ closed):
        number = Job.objects.get(pk=pk).number
        yield f"{number} is {'sold without its stage' if pk in sold else 'at “Sold” without a sale'}"
    if strays:
        yield f"{strays} lines of money come out of a sale that isn't there"


def books() -> Found:
    """Every entry of the journal balances: debit and credit are the same sum."""
    profile = Profile.current()
    kept = journal_of(Period(FIRST_DAY, LAST_DAY), profile.currency if profile else "")
    return look("books: the journal balances", (differ(f"{one.text} of {one.paper}", one.sum_minor, 0) for one in kept.entries))


LOOKS: tuple[Looker, ...] = (
    sums,
    lines_from_log,
    numbers,
    credit_notes,
    billed_jobs,
    finished_jobs,
    deposits,
    accounts,
    moves,
    uncollected_sales,
    books,
)
