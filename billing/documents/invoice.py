"""The invoice: parts with their class, labour, what was not charged and why, tax by rate, what is still due."""

from dataclasses import dataclass
from datetime import date

from moneyed import Money

from billing.documents.lines import BillLine, FreeLine, PaymentLine, TaxLine
from shop.paper import Letterhead, Party


@dataclass(frozen=True, slots=True)
class InvoicePaper:
    """An issued invoice. `parts_total`, `labour_total`, `flat_total` sum the `net` of their lines. `consent` says what the sum was
    agreed by: `Agreed by A. Customer on 3 March, estimate version 2, up to ...`."""

    letterhead: Letterhead
    number: str
    issued_on: date
    due_on: date
    buyer: Party
    job_number: str
    set_line: str
    fault: str
    lines: tuple[BillLine, ...]
    parts_total: Money
    labour_total: Money
    flat_total: Money
    net: Money
    taxes: tuple[TaxLine, ...]
    tax_total: Money
    gross: Money
    due: Money
    not_charged: tuple[FreeLine, ...] = ()
    payments: tuple[PaymentLine, ...] = ()
    prices_include_tax: bool = False
    consent: str = ""
    how_to_pay: str = ""
    terms: str = ""
