"""Bills' only writer: invoices, credit notes, payments. Each is numbered and written in one transaction."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from billing.models import Invoice, InvoiceLine, PaperKind, Payment, PaymentKind
from billing.queries import BillLine, account_of, bill_lines, deposits_left_minor, totals_of
from jobs.models import Deposit, Job, Stage
from jobs.models.estimate import PayBy
from jobs.queries.exposure import exposure_of, newest_consent
from jobs.services import consents
from jobs.services.log import profile
from jobs.services.stages import lock_job, set_billed
from shop.acts import Refused, Stale
from shop.letterhead_of import kept, letterhead
from shop.models import Profile, Staff
from shop.money import show
from shop.numbers import next_number
from shop.totals import Totals

BILLABLE = (Stage.REPAIRING, Stage.PROVING, Stage.SOAKING, Stage.READY, Stage.DECLINED, Stage.AGREED, Stage.INSPECTING)
INVOICE_SERIES, CREDIT_SERIES = "R", "C"


@transaction.atomic
def take_deposit(job: Job, amount_minor: int, how: str, *, person: Staff, at: datetime) -> Deposit:
    """Money before the bill. Once the job is billed, money is a payment of the invoice."""
    if lock_job(job).billed:
        raise Refused(f"Job {job.number} is billed already. Book the money as a payment of its invoice.", code="billed")
    return consents.take_deposit(job, amount_minor, how, person=person, at=at)


@transaction.atomic
def give_back_deposit(job: Job, amount_minor: int, how: str, *, person: Staff, at: datetime) -> Deposit:
    """Give back what no invoice has set off; the job is locked first, so that two people can't give back the same money."""
    left = deposits_left_minor(lock_job(job))
    return consents.give_back_deposit(job, amount_minor, how, left_minor=left, person=person, at=at)


@transaction.atomic
def issue_invoice(job: Job, *, person: Staff, at: datetime, seen: int | None = None) -> Invoice:
    """Bill all that is fitted and worked and stands on no invoice yet; deposits are set off. Issued also when nothing is charged.

    A closed job is billed only to replace an invoice that was credited. `seen` is the job's version as it was looked over.
    """
    current, terms = lock_job(job, seen), profile()
    if current.stage not in BILLABLE and not _to_replace(current):
        raise Refused(
            f"Job {current.number} is at “{current.get_stage_display()}”; there is nothing to bill now.", code="wrong_stage"
        )
    lines = bill_lines(current, terms)
    if not lines:
        raise Refused("All that was fitted and worked is on an invoice already.", code="nothing_to_bill")
    _within_consent(current, lines, terms)
    if current.billed:
        raise Refused(f"Job {current.number} stands on an invoice already. Credit that one to bill it anew.", code="billed")
    totals = totals_of(lines, terms, prepaid_minor=deposits_left_minor(current))
    invoice = _write(current, terms, lines, totals, person, at)
    set_billed(current, True)
    return invoice


def _to_replace(job: Job) -> bool:
    return not job.is_open and job.invoices.filter(credit_notes__isnull=False).exists()  # type: ignore[attr-defined, no-any-return]


def _within_consent(job: Job, lines: list[BillLine], terms: Profile) -> None:
    """The last gate: whatever the log let through, no bill goes above the agreed sum and the written allowance."""
    exposure = exposure_of(job, terms)
    if exposure.spent_minor > exposure.ceiling_minor:
        spent, ceiling = (show(minor, terms.currency, terms.locale) for minor in (exposure.spent_minor, exposure.ceiling_minor))
        raise Refused(
            f"The bill would come to {spent}, and {ceiling} is agreed (with the shop's allowance). "
            "Revise the estimate and get the customer's consent first.",
            code="over_ceiling",
        )


def _write(job: Job, terms: Profile, lines: list[BillLine], totals: Totals, person: Staff, at: datetime) -> Invoice:
    today = timezone.localdate(at)
    number = next_number(INVOICE_SERIES, today.year)
    invoice = Invoice.objects.create(
        number=str(number),
        series=number.series,
        year=number.year,
        sequence=number.sequence,
        job=job,
        customer=job.customer,
        seller=kept(letterhead(terms)),
        buyer_name=job.customer.name,
        buyer_address=job.customer.address,
        set_line=str(job.radio)[:300],
        fault=job.fault,
        consent=newest_consent(job),
        currency=terms.currency,
        prices_include_tax=terms.prices_include_tax,
        tax_rounding=terms.tax_rounding,
        terms=terms.terms,
        net_minor=totals.net_minor,
        tax_minor=totals.tax_minor,
        gross_minor=totals.gross_minor,
        prepaid_minor=totals.prepaid_minor,
        issued_on=today,
        due_on=today + timedelta(days=terms.payment_days),
        at=at,
        person=person,
    )
    for order, (line, net) in enumerate(zip(lines, totals.line_net_minor, strict=True), 1):
        _write_line(invoice, order, line, net)
    return invoice


def _write_line(invoice: Invoice, order: int, line: BillLine, net_minor: int) -> None:
    before = InvoiceLine.objects.filter(credits_line__isnull=True, entry=line.entry, labour=line.labour)
    rounds = before.aggregate(last=Max("bill_round"))["last"]
    InvoiceLine.objects.create(
        invoice=invoice,
        order=order,
        kind=line.kind,
        entry=line.entry,
        labour=line.labour,
        bill_round=0 if rounds is None else rounds + 1,
        designator=line.designator,
        text=line.text[:300],
        part_class=line.part_class,
        count=line.count,
        minutes=line.minutes,
        unit_minor=line.unit_minor,
        amount_minor=line.amount_minor,
        net_minor=net_minor,
        tax_bp=line.tax_bp,
        charged=line.charged,
        not_charged_reason=line.not_charged_reason,
    )


@transaction.atomic
def credit(invoice: Invoice, reason: str, *, person: Staff, at: datetime) -> Invoice:
    """A credit note over the whole of an invoice: its lines may then be billed anew. The invoice itself stays as it is."""
    if not person.is_owner:
        raise Refused("Only the owner credits an invoice.", code="owner_only")
    if not reason.strip():
        raise Refused("Say why the invoice is credited.", field="reason")
    job = lock_job(invoice.job)
    current = Invoice.objects.select_for_update().get(pk=invoice.pk)
    if current.is_credit:
        raise Refused("A credit note isn't credited; issue a new invoice instead.", code="is_credit")
    if current.credit_notes.exists():  # type: ignore[attr-defined]
        raise Stale(f"Invoice {current.number} was credited already.", code="credited")
    today = timezone.localdate(at)
    number = next_number(CREDIT_SERIES, today.year)
    note = Invoice.objects.create(
        kind=PaperKind.CREDIT_NOTE,
        number=str(number),
        series=number.series,
        year=number.year,
        sequence=number.sequence,
        job=job,
        customer=current.customer,
        credits=current,
        seller=kept(letterhead()),
        reason=reason.strip()[:300],
        issued_on=today,
        due_on=today,
        at=at,
        person=person,
        **{name: getattr(current, name) for name in _COPIED},
    )
    for line in current.lines.all():  # type: ignore[attr-defined]
        _credit_line(note, line)
    set_billed(job, False)
    return note


_COPIED = (
    "buyer_name",
    "buyer_address",
    "set_line",
    "fault",
    "consent",
    "currency",
    "prices_include_tax",
    "tax_rounding",
    "terms",
    "net_minor",
    "tax_minor",
    "gross_minor",
)


def _credit_line(note: Invoice, line: InvoiceLine) -> None:
    InvoiceLine.objects.create(
        invoice=note,
        order=line.order,
        kind=line.kind,
        entry=line.entry,
        labour=line.labour,
        credits_line=line,
        bill_round=line.bill_round,
        designator=line.designator,
        text=line.text,
        part_class=line.part_class,
        count=line.count,
        minutes=line.minutes,
        unit_minor=line.unit_minor,
        amount_minor=line.amount_minor,
        net_minor=line.net_minor,
        tax_bp=line.tax_bp,
        charged=line.charged,
        not_charged_reason=line.not_charged_reason,
    )


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
