"""Invoices: numbered and written in one transaction, from the log, once."""

from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from billing.models import Invoice, InvoiceLine
from billing.queries import BillLine, bill_lines, deposits_left_minor, totals_of
from billing.queries.required import must_say, unmet_by, work_done_on
from billing.services.open_accounts import keep
from jobs.models import Consent, Job, LabourEntry, LogEntry, Stage
from jobs.queries.asked import radio_now
from jobs.queries.exposure import newest_consent, placed_parts, spending_of, worked_on
from jobs.services.log import profile
from jobs.services.stages import lock_job, set_billed
from shop.acts import Refused
from shop.letterhead_of import kept, letterhead
from shop.models import Customer, Profile, Staff
from shop.money import show
from shop.numbers import next_number
from shop.prepared import by_key, insert, insert_all
from shop.tax_terms import exempt_reason
from shop.totals import Totals

BILLABLE = (Stage.REPAIRING, Stage.PROVING, Stage.SOAKING, Stage.READY, Stage.DECLINED, Stage.AGREED, Stage.INSPECTING)
INVOICE_SERIES = "R"


_CUSTOMER = by_key(Customer)


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
    placed, labour = placed_parts(current), worked_on(current)
    lines = bill_lines(current, terms, placed, labour)
    if not lines:
        raise Refused("All that was fitted and worked is on an invoice already.", code="nothing_to_bill")
    consent = newest_consent(current)
    _within_consent(current, consent, [fit for _, fit in placed], labour, terms)
    if current.billed:
        raise Refused(f"Job {current.number} stands on an invoice already. Credit that one to bill it anew.", code="billed")
    current.radio, current.customer = radio_now(current), _CUSTOMER.get(current.customer_id)
    _says_what_it_must(current, lines, terms)
    totals = totals_of(lines, terms, prepaid_minor=deposits_left_minor(current))
    invoice = _write(current, consent, labour, terms, lines, totals, person, at)
    keep(invoice, totals.due_minor)
    set_billed(current, True)
    return invoice


def _to_replace(job: Job) -> bool:
    return not job.is_open and job.invoices.filter(credit_notes__whole=True).exists()  # type: ignore[attr-defined, no-any-return]


def _within_consent(job: Job, consent: Consent | None, fitted: list[LogEntry], labour: list[LabourEntry], terms: Profile) -> None:
    """The last gate: whatever the log let through, no bill goes above the agreed sum and the written allowance."""
    parts, worked = [fit.price_minor for fit in fitted], [entry.billed_minor for entry in labour]
    after = spending_of(job, terms, consent, parts, worked)
    if after.spent_minor > after.ceiling_minor:
        spent, ceiling = (show(minor, terms.currency, terms.locale) for minor in (after.spent_minor, after.ceiling_minor))
        raise Refused(
            f"The bill would come to {spent}, and {ceiling} is agreed (with the shop's allowance). "
            "Revise the estimate and get the customer's consent first.",
            code="over_ceiling",
        )


def _says_what_it_must(job: Job, lines: list[BillLine], terms: Profile) -> None:
    refusals = [one for one in unmet_by(job, terms, lines) if one.refuses]
    if refusals:
        raise Refused(f"This invoice can't be issued yet. {' '.join(one.text for one in refusals)}", code=refusals[0].code)


def _write(
    job: Job,
    consent: Consent | None,
    labour: list[LabourEntry],
    terms: Profile,
    lines: list[BillLine],
    totals: Totals,
    person: Staff,
    at: datetime,
) -> Invoice:
    today = timezone.localdate(at)
    number = next_number(INVOICE_SERIES, today.year)
    invoice = Invoice(
        number=str(number),
        series=number.series,
        year=number.year,
        sequence=number.sequence,
        job=job,
        customer=job.customer,
        seller=kept(letterhead(terms)),
        buyer_name=job.customer.name,
        buyer_address=job.customer.address,
        buyer_country=job.customer.country or terms.country,
        buyer_tax_id=job.customer.tax_id,
        buyer_reference=job.customer.buyer_reference,
        set_line=str(job.radio)[:300],
        fault=job.fault,
        consent=consent,
        currency=terms.currency,
        prices_include_tax=terms.prices_include_tax,
        tax_rounding=terms.tax_rounding,
        tax_scheme=terms.tax_scheme,
        tax_exempt_reason=exempt_reason(terms),
        jurisdiction=terms.jurisdiction,
        must_say=must_say(terms),
        work_done_on=work_done_on(job, labour),
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
    insert(invoice)
    nets = enumerate(zip(lines, totals.line_net_minor, strict=True), 1)
    insert_all([_line(invoice, order, line, net) for order, (line, net) in nets])
    return invoice


def _line(invoice: Invoice, order: int, line: BillLine, net_minor: int) -> InvoiceLine:
    return InvoiceLine(
        invoice_id=invoice.pk,
        order=order,
        kind=line.kind,
        entry_id=line.entry.pk if line.entry else None,
        labour_id=line.labour.pk if line.labour else None,
        bill_round=line.bill_round,
        designator=line.designator,
        text=line.text[:300],
        part_class=line.part_class,
        count=line.count,
        minutes=line.minutes,
        unit_minor=line.unit_minor,
        amount_minor=line.amount_minor,
        net_minor=net_minor,
        tax_bp=line.tax_bp,
        tax_category=line.tax_category,
        charged=line.charged,
        not_charged_reason=line.not_charged_reason,
    )
