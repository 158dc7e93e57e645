"""Credit notes: an invoice is never changed, what was wrong on it is credited, as a whole or in part."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from billing.models import Invoice, InvoiceLine, PaperKind
from billing.queries import credited_of, note_totals, taken_by
from billing.services.open_accounts import keep_anew
from jobs.models import Job
from jobs.services.stages import lock_job, set_billed
from shop.acts import Refused, Stale
from shop.letterhead_of import kept, letterhead
from shop.models import Staff
from shop.money import show
from shop.numbers import next_number

CREDIT_SERIES = "C"


@dataclass(frozen=True, slots=True)
class PartOf:
    """What is credited of one line: a `count` of its pieces, or a sum in minor units as the line was priced. Just one of them."""

    line: InvoiceLine
    count: int | None = None
    sum_minor: int | None = None


@dataclass(frozen=True, slots=True)
class _Taken:
    """A line of a note before it is written."""

    line: InvoiceLine
    count: int
    unit_minor: int

    @property
    def amount_minor(self) -> int:
        return self.count * self.unit_minor

    def row(self) -> InvoiceLine:
        line = InvoiceLine(**{name: getattr(self.line, name) for name in _LINE_COPIED})
        line.credits_line, line.count, line.unit_minor = self.line, self.count, self.unit_minor
        line.amount_minor = self.amount_minor
        line.minutes = self.line.minutes if self.amount_minor == self.line.amount_minor else 0
        return line


@transaction.atomic
def credit(invoice: Invoice, reason: str, *, person: Staff, at: datetime) -> Invoice:
    """A credit note over all that an invoice still charges: its lines may then be billed anew. The invoice itself stays."""
    job, current = _open_for_credit(invoice, reason, person)
    before = credited_of(current)
    taken = taken_by(before)
    rest = [_rest_of(line, line.amount_minor - taken[line.pk]) for line in current.lines.all()]  # type: ignore[attr-defined]
    note = _write(current, rest, before, reason, whole=True, person=person, at=at)
    set_billed(job, False)
    return note


@transaction.atomic
def credit_part(
    invoice: Invoice, parts: Sequence[PartOf], reason: str, *, person: Staff, at: datetime, seen: int | None = None
) -> Invoice:
    """A credit note over some of an invoice's lines. The job stays billed, and the lines stand with less to pay.

    `seen`: how many credit notes the invoice had when the lines were looked at.
    """
    _, current = _open_for_credit(invoice, reason, person)
    if seen is not None and seen != current.credit_notes.count():  # type: ignore[attr-defined]
        raise Stale(f"Invoice {current.number} was credited in part since you opened this. Compare, then send again.")
    if not parts:
        raise Refused("Nothing is credited yet. Type a count or a sum at one line at least.", code="nothing")
    before = credited_of(current)
    taken = taken_by(before)
    rows = [_part_of(one, one.line.amount_minor - taken[one.line.pk], current) for one in parts]
    return _write(current, rows, before, reason, whole=False, person=person, at=at)


def _open_for_credit(invoice: Invoice, reason: str, person: Staff) -> tuple[Job, Invoice]:
    if not person.is_owner:
        raise Refused("Only the owner credits an invoice.", code="owner_only")
    if not reason.strip():
        raise Refused("Say why the invoice is credited.", field="reason")
    job = lock_job(invoice.job)
    current = Invoice.objects.select_for_update().get(pk=invoice.pk)
    if current.is_credit:
        raise Refused("A credit note isn't credited; issue a new invoice instead.", code="is_credit")
    if current.credit_notes.filter(whole=True).exists():  # type: ignore[attr-defined]
        raise Stale(f"Invoice {current.number} was credited already.", code="credited")
    return job, current


def _rest_of(line: InvoiceLine, rest_minor: int) -> _Taken:
    """What a line still charges: in its own pieces where that divides, else as one sum."""
    if rest_minor == line.amount_minor:
        return _Taken(line, line.count, line.unit_minor)
    if rest_minor and line.unit_minor and rest_minor % line.unit_minor == 0:
        return _Taken(line, rest_minor // line.unit_minor, line.unit_minor)
    return _Taken(line, 1, rest_minor)


def _part_of(part: PartOf, rest_minor: int, invoice: Invoice) -> _Taken:
    line, field = part.line, f"sum_{part.line.pk}"
    if line.invoice_id != invoice.pk or not line.charged:
        raise Refused("Only charged lines of this invoice can be credited.", field=field)
    if (part.count is None) == (part.sum_minor is None):
        raise Refused("Type a count or a sum, and only one of them.", field=field)
    taken = _Taken(line, part.count, line.unit_minor) if part.count is not None else _Taken(line, 1, part.sum_minor or 0)
    if taken.count < 1 or taken.amount_minor < 1:
        raise Refused("What is credited must be above nothing.", field=field)
    if taken.amount_minor > rest_minor:
        left, wanted = show(rest_minor, invoice.currency), show(taken.amount_minor, invoice.currency)
        raise Refused(f"{line.text} still stands for {left}; {wanted} is more.", field=field)
    return _rest_of(line, rest_minor) if taken.amount_minor == rest_minor else taken


def _write(
    invoice: Invoice, rows: list[_Taken], before: list[InvoiceLine], reason: str, *, whole: bool, person: Staff, at: datetime
) -> Invoice:
    today = timezone.localdate(at)
    number = next_number(CREDIT_SERIES, today.year)
    lines = [one.row() for one in rows]
    totals = note_totals(invoice, lines, before)
    note = Invoice.objects.create(
        kind=PaperKind.CREDIT_NOTE,
        number=str(number),
        series=number.series,
        year=number.year,
        sequence=number.sequence,
        credits=invoice,
        whole=whole,
        seller=kept(letterhead()),
        reason=reason.strip()[:300],
        net_minor=totals.net_minor,
        tax_minor=totals.tax_minor,
        gross_minor=totals.gross_minor,
        issued_on=today,
        due_on=today,
        at=at,
        person=person,
        **{name: getattr(invoice, name) for name in _COPIED},
    )
    for order, (line, net) in enumerate(zip(lines, totals.line_net_minor, strict=True), 1):
        line.invoice, line.order, line.net_minor = note, order, net
        line.save(force_insert=True)
    keep_anew(invoice)
    return note


_COPIED = (
    "job",
    "customer",
    "buyer_name",
    "buyer_address",
    "buyer_country",
    "buyer_tax_id",
    "buyer_reference",
    "set_line",
    "fault",
    "consent",
    "currency",
    "prices_include_tax",
    "tax_rounding",
    "tax_scheme",
    "tax_exempt_reason",
    "jurisdiction",
    "must_say",
    "work_done_on",
    "terms",
)
_LINE_COPIED = (
    "kind",
    "entry",
    "labour",
    "bill_round",
    "designator",
    "text",
    "part_class",
    "tax_bp",
    "tax_category",
    "charged",
    "not_charged_reason",
)
