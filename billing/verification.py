"""The till derived again: bills from their lines, lines from the log, numbers, credit notes, deposits, accounts."""

from collections.abc import Iterator
from itertools import groupby

from django.db.models import QuerySet

from billing.models import Invoice, InvoiceLine, LineKind, PaperKind
from billing.queries import account_of, deposits_left_minor, frozen_totals, with_account
from jobs.models import Job, Stage
from jobs.queries.sheet import sheet_of
from shop.differences import Found, Looker, differ, look
from shop.models import NumberSeries


def _standing_lines() -> "QuerySet[InvoiceLine]":
    return InvoiceLine.objects.filter(credits_line__isnull=True, credited_by__isnull=True)


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
    heads = ("invoice", "entry__position", "labour")
    return look("bills: lines come from the log", (_line_differs(one) for one in InvoiceLine.objects.select_related(*heads)))


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
    """The papers of each series and year count from 1 without gap or double, up to the counter."""
    rows = Invoice.objects.order_by("series", "year", "sequence").values_list("series", "year", "sequence")
    kept = {key: [row[2] for row in found] for key, found in groupby(rows, key=lambda row: (row[0], row[1]))}
    jobs = Job.objects.order_by("number").values_list("number", flat=True)
    parts = [number.split("-") for number in jobs]
    for series, year, sequence in sorted((p[0], int(p[1]), int(p[2])) for p in parts if len(p) == 3 and p[2].isdecimal()):
        kept.setdefault((series, year), []).append(sequence)
    counters = {(row.series, row.year): row.last for row in NumberSeries.objects.all()}
    keys = sorted(kept.keys() | counters.keys())
    return look("numbers: no gap and no double", (_numbers_differ(key, kept.get(key, []), counters.get(key, 0)) for key in keys))


def _numbers_differ(key: tuple[str, int], found: list[int], last: int) -> Iterator[str]:
    if found != list(range(1, last + 1)):
        yield f"series {key[0]}-{key[1]}: counter at {last}, given {found}"


def credit_notes() -> Found:
    """A credit note mirrors the whole of one invoice, and an invoice has one at most."""
    notes = Invoice.objects.filter(kind=PaperKind.CREDIT_NOTE).select_related("credits").prefetch_related("lines")
    return look("bills: credit notes mirror their invoice", (_credit_differs(one) for one in notes))


def _credit_differs(note: Invoice) -> Iterator[str]:
    if note.credits is None:
        yield f"{note.number} credits nothing"
        return
    mirrored = sorted(line.credits_line_id or 0 for line in note.lines.all())  # type: ignore[attr-defined]
    yield from differ(f"lines of {note.number}", mirrored, sorted(note.credits.lines.values_list("pk", flat=True)))  # type: ignore[attr-defined]
    yield from differ(f"total of {note.number}", note.gross_minor, note.credits.gross_minor)
    yield from differ(f"credit notes of {note.credits.number}", note.credits.credit_notes.count(), 1)  # type: ignore[attr-defined]


def billed_jobs() -> Found:
    """A job counts as billed exactly while an invoice of it stands, and that bill's parts total is the log's."""
    standing = Invoice.objects.filter(kind=PaperKind.INVOICE, credit_notes__isnull=True).values_list("job_id", flat=True)
    with_bill = set(standing)
    return look(
        "bills: billed jobs have a standing bill", (_billed_differs(job, job.pk in with_bill) for job in Job.objects.all())
    )


def _billed_differs(job: Job, has_bill: bool) -> Iterator[str]:
    yield from differ(f"{job.number} billed", job.billed, has_bill)
    if has_bill:
        lines = _standing_lines().filter(invoice__job=job, kind=LineKind.PART)
        billed = sum(line.amount_minor for line in lines)
        yield from differ(f"parts total billed of {job.number}", billed, sheet_of(job).parts_minor)


def finished_jobs() -> Found:
    """On a closed job every fitted part is on exactly one standing line, but where its invoice was credited and not made anew."""
    closed = Job.objects.filter(stage__in=(Stage.HANDED_OVER, Stage.RETURNED))
    return look("bills: every part of a closed job is on one line", (_finished_differs(job) for job in closed))


def _finished_differs(job: Job) -> Iterator[str]:
    credited = job.invoices.filter(credit_notes__isnull=False).exists() and not job.billed  # type: ignore[attr-defined]
    lines = list(_standing_lines().filter(invoice__job=job, entry__isnull=False).values_list("entry_id", flat=True))
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
    """What the list reckons as due is what the account comes to, and no credit note bears a payment."""
    return look("money: accounts add up", (_account_differs(one) for one in with_account(Invoice.objects.all())))


def _account_differs(paper: Invoice) -> Iterator[str]:
    if paper.is_credit:
        if paper.payments.exists():  # type: ignore[attr-defined]
            yield f"credit note {paper.number} bears a payment"
        return
    yield from differ(f"due of {paper.number}", paper.due, account_of(paper).due_minor)  # type: ignore[attr-defined]


LOOKS: tuple[Looker, ...] = (
    sums,
    lines_from_log,
    numbers,
    credit_notes,
    billed_jobs,
    finished_jobs,
    deposits,
    accounts,
)
