"""The credit note: what an earlier invoice charged and this paper takes back."""

from dataclasses import dataclass
from datetime import date

from moneyed import Money

from billing.documents.lines import BillLine, TaxLine
from shop.paper import Letterhead, Party


@dataclass(frozen=True, slots=True)
class CreditNotePaper:
    """Sums are positive and count against the invoice it names."""

    letterhead: Letterhead
    number: str
    issued_on: date
    credits_number: str
    credits_issued_on: date
    reason: str
    buyer: Party
    job_number: str
    set_line: str
    lines: tuple[BillLine, ...]
    net: Money
    taxes: tuple[TaxLine, ...]
    tax_total: Money
    gross: Money
    prices_include_tax: bool = False
    terms: str = ""
