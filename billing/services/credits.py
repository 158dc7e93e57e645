"""Credit notes: an invoice is never changed, what was wrong on it is credited."""

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from billing.models import Invoice, InvoiceLine, PaperKind
from jobs.services.stages import lock_job, set_billed
from shop.acts import Refused, Stale
from shop.letterhead_of import kept, letterhead
from shop.models import Staff
from shop.numbers import next_number

CREDIT_SERIES = "C"


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
