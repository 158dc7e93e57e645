"""Readers that fill the till's papers. What an invoice froze, the letterhead too, is read from its rows only."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypedDict

from django.utils import timezone
from moneyed import Money

from billing.documents.credit_note import CreditNotePaper
from billing.documents.invoice import InvoicePaper
from billing.documents.lines import BillLine, FreeLine, PaymentLine, TaxLine
from billing.documents.statement import StatementLine, StatementPaper
from billing.models import Invoice, InvoiceLine, LineKind, PaperKind, Payment, PaymentKind
from billing.queries import account_of, frozen_totals, with_account
from jobs.models import HandOver, Job
from jobs.queries.papers_in import party_of
from jobs.queries.papers_out import consent_words, tax_label
from shop.letterhead_of import address_lines, as_it_was
from shop.models import Customer
from shop.money import as_money
from shop.paper import Letterhead, Party
from shop.totals import Totals

PERCENT = Decimal(100)
LINE_HEADS = ("entry", "labour")


def _lines(invoice: Invoice) -> list[InvoiceLine]:
    return list(invoice.lines.select_related(*LINE_HEADS))  # type: ignore[attr-defined]


def _buyer(invoice: Invoice) -> Party:
    return Party(invoice.buyer_name, address_lines(invoice.buyer_address))


def _bill_line(line: InvoiceLine, currency: str) -> BillLine:
    """Labour is told by its rate an hour, as it was logged; everything else by the price of one."""
    rate = line.labour.hour_rate_minor if line.kind == LineKind.LABOUR and line.labour else line.unit_minor
    return BillLine(
        kind=line.kind,  # type: ignore[arg-type]
        text=line.text,
        unit=as_money(rate, currency),
        amount=as_money(line.amount_minor, currency),
        net=as_money(line.net_minor, currency),
        tax_percent=Decimal(line.tax_bp) / PERCENT,
        position=line.designator,
        part_class=line.part_class,
        count=line.count,
        minutes=line.minutes,
    )


def _charged(lines: Sequence[InvoiceLine], currency: str) -> tuple[BillLine, ...]:
    return tuple(_bill_line(line, currency) for line in lines if line.charged)


def _free_lines(lines: Sequence[InvoiceLine]) -> tuple[FreeLine, ...]:
    return tuple(
        FreeLine(line.text, line.not_charged_reason, line.designator, line.part_class, line.count)
        for line in lines
        if not line.charged
    )


def _taxes(totals: Totals, currency: str) -> tuple[TaxLine, ...]:
    return tuple(
        TaxLine(tax_label(tax), as_money(tax.taxable_minor, currency), as_money(tax.tax_minor, currency))
        for tax in totals.taxes
        if tax.tax.rate_bp
    )


def _sum(lines: Sequence[InvoiceLine], kind: str, currency: str) -> Money:
    return as_money(sum(line.amount_minor for line in lines if line.kind == kind), currency)


def invoice_paper(invoice: Invoice, head: Letterhead, *, with_payments: bool = False) -> InvoicePaper:
    """The invoice as it was issued; `with_payments` adds what was paid since, and what is due after that."""
    lines, currency = _lines(invoice), invoice.currency
    paid = _payments(invoice) if with_payments else ()
    due = account_of(invoice).due_minor if with_payments else invoice.gross_minor - invoice.prepaid_minor
    return InvoicePaper(
        letterhead=as_it_was(invoice.seller, head),
        number=invoice.number,
        issued_on=invoice.issued_on,
        due_on=invoice.due_on,
        buyer=_buyer(invoice),
        job_number=invoice.job.number,
        set_line=invoice.set_line,
        fault=invoice.fault,
        lines=_charged(lines, currency),
        parts_total=_sum(lines, LineKind.PART, currency),
        labour_total=_sum(lines, LineKind.LABOUR, currency),
        flat_total=_sum(lines, LineKind.FLAT, currency),
        net=as_money(invoice.net_minor, currency),
        taxes=_taxes(frozen_totals(invoice, lines), currency),
        tax_total=as_money(invoice.tax_minor, currency),
        gross=as_money(invoice.gross_minor, currency),
        due=as_money(due, currency),
        not_charged=_free_lines(lines),
        payments=(*_deposit(invoice), *paid),
        prices_include_tax=invoice.prices_include_tax,
        consent=consent_words(invoice.consent, currency, head.locale) if invoice.consent else "",
        how_to_pay=f"Please name {invoice.number} when you pay.",
        terms=invoice.terms,
    )


def _deposit(invoice: Invoice) -> tuple[PaymentLine, ...]:
    if not invoice.prepaid_minor:
        return ()
    return (PaymentLine("Deposit set off", invoice.issued_on, as_money(invoice.prepaid_minor, invoice.currency)),)


PAYMENT_LABELS = {PaymentKind.PAID: "Paid", PaymentKind.REFUND: "Paid back", PaymentKind.WAIVED: "Waived"}


def _payments(invoice: Invoice) -> tuple[PaymentLine, ...]:
    lines = [
        PaymentLine(f"{note.number} credited", note.issued_on, as_money(note.gross_minor, note.currency))
        for note in invoice.credit_notes.all()  # type: ignore[attr-defined]
    ]
    return (*lines, *(_payment_line(payment, invoice.currency) for payment in invoice.payments.all()))  # type: ignore[attr-defined]


def _payment_line(payment: Payment, currency: str) -> PaymentLine:
    how = f", {payment.get_how_display().lower()}" if payment.how else ""
    signed = -payment.amount_minor if payment.kind == PaymentKind.REFUND else payment.amount_minor
    label = f"{PAYMENT_LABELS[PaymentKind(payment.kind)]}{how}"
    return PaymentLine(label, timezone.localdate(payment.at), as_money(signed, currency))


def credit_note_paper(note: Invoice, head: Letterhead) -> CreditNotePaper:
    """`note` is a credit note; ValueError otherwise."""
    if note.credits is None:
        raise ValueError(f"{note.number} is no credit note")
    lines, currency = _lines(note), note.currency
    return CreditNotePaper(
        letterhead=as_it_was(note.seller, head),
        number=note.number,
        issued_on=note.issued_on,
        credits_number=note.credits.number,
        credits_issued_on=note.credits.issued_on,
        reason=note.reason,
        buyer=_buyer(note),
        job_number=note.job.number,
        set_line=note.set_line,
        lines=_charged(lines, currency),
        net=as_money(note.net_minor, currency),
        taxes=_taxes(frozen_totals(note, lines), currency),
        tax_total=as_money(note.tax_minor, currency),
        gross=as_money(note.gross_minor, currency),
        prices_include_tax=note.prices_include_tax,
        terms=note.terms,
    )


@dataclass(frozen=True, slots=True)
class Booking:
    """One line of a customer's account before it is summed up; `minor` above nothing is charged, below it is received."""

    on: date
    text: str
    minor: int
    due_on: date | None = None


def bookings_of(customer: Customer) -> list[Booking]:
    """Everything that was booked on a customer's invoices, in the order of days."""
    lines: list[Booking] = []
    for paper in customer.invoices.prefetch_related("payments").order_by("pk"):  # type: ignore[attr-defined]
        lines += _of_credit(paper) if paper.is_credit else _of_invoice(paper)
    return sorted(lines, key=lambda line: line.on)


def _of_credit(note: Invoice) -> list[Booking]:
    return [Booking(note.issued_on, f"Credit note {note.number}", -note.gross_minor)]


def _of_invoice(invoice: Invoice) -> list[Booking]:
    account = account_of(with_account(Invoice.objects.filter(pk=invoice.pk)).get())
    credited = account.credited_minor > 0
    lines = [Booking(invoice.issued_on, f"Invoice {invoice.number}", invoice.gross_minor, invoice.due_on)]
    if account.prepaid_minor:
        lines.append(Booking(invoice.issued_on, f"Deposit set off on {invoice.number}", -account.prepaid_minor))
    for payment in invoice.payments.all():  # type: ignore[attr-defined]
        if credited and payment.kind == PaymentKind.WAIVED:
            continue
        sign = 1 if payment.kind == PaymentKind.REFUND else -1
        label = f"{PAYMENT_LABELS[PaymentKind(payment.kind)]} on {invoice.number}"
        lines.append(Booking(timezone.localdate(payment.at), label, sign * payment.amount_minor))
    return lines


def statement_paper(customer: Customer, head: Letterhead, *, as_of_on: date) -> StatementPaper:
    """A customer's account on a day, with the balance after each line."""
    lines, balance = [], 0
    for one in [line for line in bookings_of(customer) if line.on <= as_of_on]:
        balance += one.minor
        lines.append(
            StatementLine(
                on=one.on,
                text=one.text,
                balance=as_money(balance, head.currency),
                charged=as_money(one.minor, head.currency) if one.minor >= 0 else None,
                received=as_money(-one.minor, head.currency) if one.minor < 0 else None,
                due_on=one.due_on,
            )
        )
    overdue = _overdue(customer, as_of_on)
    return StatementPaper(
        letterhead=head,
        customer=party_of(customer),
        as_of_on=as_of_on,
        lines=tuple(lines),
        due=as_money(balance, head.currency),
        overdue=as_money(overdue, head.currency) if overdue else None,
    )


def _overdue(customer: Customer, day: date) -> int:
    late = with_account(customer.invoices.filter(due_on__lt=day))  # type: ignore[attr-defined]
    return sum(max(account_of(invoice).due_minor, 0) for invoice in late if not invoice.is_credit)


class KeepsakeFacts(TypedDict):
    """What the summary and the warranty say besides the log: the standing invoice's number, and who signed for the shop."""

    invoice_number: str
    signed_by: str


def keepsake_facts(job: Job) -> KeepsakeFacts:
    standing = Invoice.objects.filter(job=job, kind=PaperKind.INVOICE, credit_notes__isnull=True).order_by("-pk").first()
    done = HandOver.objects.filter(job=job).select_related("person").first()
    return {"invoice_number": standing.number if standing else "", "signed_by": str(done.person) if done else ""}
