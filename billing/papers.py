"""Readers that fill the till's papers. What an invoice froze, the letterhead too, is read from its rows only."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import TypedDict

from moneyed import Money

from billing.documents.credit_note import CreditNotePaper
from billing.documents.invoice import InvoicePaper
from billing.documents.lines import BillLine, FreeLine, PaymentLine, TaxLine
from billing.documents.statement import StatementLine, StatementPaper
from billing.documents.year_end import YearEndLine, YearEndPaper, YearEndPart
from billing.models import Invoice, InvoiceLine, LineKind
from billing.queries import Step, account_of, frozen_totals, standing_invoices, steps_of, with_history
from billing.queries.statement import CustomerAccount, accounts_of
from billing.queries.year_end import OWED, THERE, TOLD, Section, YearEnd, sections_of, side_total
from jobs.models import HandOver, Job
from jobs.queries.papers_in import party_of
from jobs.queries.papers_out import consent_words
from shop.letterhead_of import address_lines, as_it_was
from shop.models import Customer
from shop.money import as_money
from shop.paper import Letterhead, Party
from shop.tax_terms import tax_words
from shop.totals import Totals

PERCENT = Decimal(100)
LINE_HEADS = ("entry", "labour", "credits_line")


def _lines(invoice: Invoice) -> list[InvoiceLine]:
    return list(invoice.lines.select_related(*LINE_HEADS))  # type: ignore[attr-defined]


def _buyer(invoice: Invoice) -> Party:
    return Party(invoice.buyer_name, address_lines(invoice.buyer_address), tax_id=invoice.buyer_tax_id)


def _bill_line(line: InvoiceLine, currency: str) -> BillLine:
    """Labour is told by its rate an hour, as it was logged; everything else by the price of one, also labour credited in part."""
    by_time = line.kind == LineKind.LABOUR and line.labour and (line.minutes or not line.credits_line_id)
    rate = line.labour.hour_rate_minor if by_time and line.labour else line.unit_minor
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


def _credited(lines: Sequence[InvoiceLine], currency: str) -> tuple[BillLine, ...]:
    """Lines that earlier notes took back already stand on the last one with nothing; they are not printed."""
    return tuple(_bill_line(line, currency) for line in lines if line.charged and (line.amount_minor or not _was_charged(line)))


def _was_charged(line: InvoiceLine) -> bool:
    return line.credits_line is not None and line.credits_line.amount_minor > 0


def _free_lines(lines: Sequence[InvoiceLine]) -> tuple[FreeLine, ...]:
    return tuple(
        FreeLine(line.text, line.not_charged_reason, line.designator, line.part_class, line.count)
        for line in lines
        if not line.charged
    )


def _taxes(totals: Totals, invoice: Invoice) -> tuple[TaxLine, ...]:
    currency = invoice.currency
    return tuple(
        TaxLine(tax_words(tax, invoice.tax_scheme), as_money(tax.taxable_minor, currency), as_money(tax.tax_minor, currency))
        for tax in totals.named_taxes
    )


def _sum(lines: Sequence[InvoiceLine], kind: str, currency: str) -> Money:
    return as_money(sum(line.amount_minor for line in lines if line.kind == kind), currency)


def invoice_paper(invoice: Invoice, head: Letterhead, *, with_payments: bool = False) -> InvoicePaper:
    """The invoice as it was issued; `with_payments` adds what was paid since, and what is due after that."""
    lines, currency, head = _lines(invoice), invoice.currency, as_it_was(invoice.seller, head)
    paid = _payments(invoice) if with_payments else ()
    due = account_of(invoice).due_minor if with_payments else invoice.gross_minor - invoice.prepaid_minor
    return InvoicePaper(
        letterhead=head,
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
        taxes=_taxes(frozen_totals(invoice, lines), invoice),
        tax_total=as_money(invoice.tax_minor, currency),
        gross=as_money(invoice.gross_minor, currency),
        due=as_money(due, currency),
        not_charged=_free_lines(lines),
        payments=(*_deposit(invoice), *paid),
        prices_include_tax=invoice.prices_include_tax,
        consent=consent_words(invoice.consent, currency, head.locale) if invoice.consent else "",
        how_to_pay=_how_to_pay(invoice),
        terms=invoice.terms,
        work_done_on=invoice.work_done_on,
        buyer_reference=invoice.buyer_reference,
        tax_note=invoice.tax_exempt_reason,
        must_say=tuple(str(text) for text in invoice.must_say),
    )


def _how_to_pay(invoice: Invoice) -> str:
    account = invoice.seller.get("iban", "")
    return f"{f'Pay into {account}. ' if account else ''}Please name {invoice.number} when you pay."


def _deposit(invoice: Invoice) -> tuple[PaymentLine, ...]:
    if not invoice.prepaid_minor:
        return ()
    return (PaymentLine("Deposit set off", invoice.issued_on, as_money(invoice.prepaid_minor, invoice.currency)),)


def _payments(invoice: Invoice) -> tuple[PaymentLine, ...]:
    """Everything that changed what is due since the invoice was issued; what it set off then stands above these lines."""
    (_, *later) = steps_of(with_history(Invoice.objects.filter(pk=invoice.pk)).get())
    return tuple(_payment_line(step, text, minor, invoice) for step in later for text, minor in step.parts())


def _payment_line(step: Step, text: str, minor: int, invoice: Invoice) -> PaymentLine:
    label = f"{step.paper.number} credited" if text == step.words and step.money is None else text
    return PaymentLine(label.removesuffix(f" on {invoice.number}"), step.on, as_money(-minor, invoice.currency))


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
        whole=note.whole,
        buyer=_buyer(note),
        job_number=note.job.number,
        set_line=note.set_line,
        lines=_credited(lines, currency),
        net=as_money(note.net_minor, currency),
        taxes=_taxes(frozen_totals(note, lines), note),
        tax_total=as_money(note.tax_minor, currency),
        gross=as_money(note.gross_minor, currency),
        prices_include_tax=note.prices_include_tax,
        terms=note.terms,
        tax_note=note.tax_exempt_reason,
    )


def statement_paper(
    customer: Customer, head: Letterhead, *, as_of_on: date, first: date | None = None, currency: str = ""
) -> StatementPaper:
    """A customer's account in one currency (the shop's where none is named), with the balance after each line."""
    wanted = currency or head.currency
    accounts = {one.currency: one for one in accounts_of(customer, first, as_of_on)}
    return statement_of(customer, accounts.get(wanted, CustomerAccount(wanted, first, as_of_on, 0, (), 0)), head)


def statement_of(customer: Customer, account: CustomerAccount, head: Letterhead) -> StatementPaper:
    """The paper of an account that was read already."""

    def money(minor: int) -> Money:
        return as_money(minor, account.currency)

    lines = tuple(
        StatementLine(
            on=one.on,
            text=one.text,
            balance=money(balance),
            charged=money(one.minor) if one.minor >= 0 else None,
            received=money(-one.minor) if one.minor < 0 else None,
            due_on=one.due_on,
        )
        for one, balance in zip(account.lines, account.balances(), strict=True)
    )
    return StatementPaper(
        letterhead=head,
        customer=party_of(customer),
        as_of_on=account.last,
        lines=lines,
        due=money(account.closing_minor),
        overdue=money(account.overdue_minor) if account.overdue_minor else None,
        from_on=account.first,
        opening=money(account.opening_minor) if account.first else None,
    )


class KeepsakeFacts(TypedDict):
    """What the summary and the warranty say besides the log: the standing invoice's number, and who signed for the shop."""

    invoice_number: str
    signed_by: str


def keepsake_facts(job: Job) -> KeepsakeFacts:
    standing = standing_invoices(job).last()
    done = HandOver.objects.filter(job=job).select_related("person").first()
    return {"invoice_number": standing.number if standing else "", "signed_by": str(done.person) if done else ""}


def year_end_paper(end: YearEnd, head: Letterhead) -> YearEndPaper:
    """The year's end as the page shows it."""
    sections = sections_of(end)
    there, owed, told = (
        tuple(_year_end_part(one, end.currency) for one in sections if one.side == side) for side in (THERE, OWED, TOLD)
    )
    return YearEndPaper(
        letterhead=head,
        as_of_on=end.day,
        there=there,
        there_total=as_money(side_total(sections, THERE), end.currency),
        owed=owed,
        owed_total=as_money(side_total(sections, OWED), end.currency),
        told=told,
        unknown=end.unknown,
    )


def _year_end_part(section: Section, currency: str) -> YearEndPart:
    lines = tuple(YearEndLine(row.text, row.detail, as_money(row.minor, currency)) for row in section.rows)
    return YearEndPart(section.title, section.note, lines, as_money(section.total_minor, currency), section.empty)
