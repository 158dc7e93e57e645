"""Invoices of every make for the e-invoice's tests: random frozen rows, and amounts read back out of both syntaxes.

The rows are written as `issue_invoice` writes them, without the days of bench work before each: `shop.totals` reckons them.
Credit notes are written by the services themselves.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from hypothesis import strategies as st
from lxml import etree

from billing.einvoice import cii, ubl
from billing.einvoice.rules import Syntax
from billing.einvoice.terms import EInvoice
from billing.models import Invoice, InvoiceLine, LineKind
from billing.services import PartOf, credit, credit_part
from jobs.models import Job
from shop.models import Staff, TaxCategory, TaxRounding
from shop.money import as_money
from shop.totals import Line, TaxKey, Totals, total

FIRST_DAY = date(2026, 3, 2)
CURRENCIES = ("EUR", "GBP", "CHF", "JPY")
RATES_BP = (100, 255, 500, 770, 1000, 1900, 2000, 2100, 2550)
SELLER = {
    "shop_name": "Quillfeather & Söhne <Wireless>",
    "address_lines": ["4 Cable Street", "Upper Yard", "Merrowby", "MB1 7QF"],
    "phone": "020 7946 0018",
    "email": "till@quillfeather.example",
    "registration": "HRB 4711",
    "tax_id": "DE 123 456 789",
    "country": "DE",
    "iban": "DE02 1203 0000 0000 2020 51",
}
# What people really type, and what nobody should: markup, quotes, control and direction characters, emoji.
ODD = "aZ0 &<>\"'`\t\n\r\x01\x0b\x1b\x7f\x85\u00a0\u200b\u202e\u2028\ufeff\ufffeΩµ½łő漢𝟘😀👩\u200d🔧]]>{}%"
words = st.text(ODD, max_size=40)
names = words.map(lambda text: f"Iwona {text}")
long_words = st.one_of(words, words, st.integers(200, 300).map(lambda size: ("Hum & <buzz> " * 30)[:size]))
_numbers = count(1)
# A credit note bears the letterhead of its own day.
PROFILE = {
    "name": SELLER["shop_name"],
    "address": "4 Cable Street\nUpper Yard",
    "registration": "HRB 4711",
    "tax_id": "DE 123 456 789",
    "country": "DE",
}


@dataclass(frozen=True)
class DrawnLine:
    kind: str
    text: str
    count: int
    minutes: int
    unit_minor: int
    charged: bool
    reason: str
    category: str
    tax_bp: int

    @property
    def amount_minor(self) -> int:
        return self.count * self.unit_minor if self.charged else 0


@dataclass(frozen=True)
class Drawn:
    """All that makes one invoice different from another. `credited`: of each line, the percent that a first note takes back."""

    currency: str
    include_tax: bool
    rounding: str
    lines: tuple[DrawnLine, ...]
    prepaid_percent: int
    buyer_name: str
    buyer_address: str
    buyer_country: str
    buyer_tax_id: str
    buyer_reference: str
    fault: str
    terms: str
    with_registration: bool
    with_iban: bool
    work_done: bool
    credited: tuple[int, ...]


def _taxes(draw: st.DrawFn, outside: bool) -> tuple[str, int]:
    if outside:
        return TaxCategory.OUTSIDE, 0
    category = draw(st.sampled_from((TaxCategory.STANDARD, TaxCategory.STANDARD, TaxCategory.ZERO, TaxCategory.EXEMPT, "")))
    return category, draw(st.sampled_from(RATES_BP)) if category in (TaxCategory.STANDARD, "") else 0


@st.composite
def lines(draw: st.DrawFn, outside: bool) -> DrawnLine:
    kind = draw(st.sampled_from(LineKind.values))
    category, rate = _taxes(draw, outside)
    return DrawnLine(
        kind=kind,
        text=draw(long_words),
        count=draw(st.integers(1, 60)) if kind == LineKind.PART else 1,
        minutes=draw(st.sampled_from((0, 7, 15, 20, 45, 90, 100, 481))) if kind == LineKind.LABOUR else 0,
        unit_minor=draw(st.one_of(st.integers(0, 300), st.integers(0, 40_000), st.integers(0, 3_000_000))),
        charged=draw(st.integers(0, 9)) > 0,
        reason=draw(words),
        category=category,
        tax_bp=rate,
    )


@st.composite
def papers(draw: st.DrawFn) -> Drawn:
    outside = draw(st.integers(0, 7)) == 0
    listed = tuple(draw(st.lists(lines(outside), min_size=1, max_size=draw(st.sampled_from((2, 6, 40))))))
    return Drawn(
        currency=draw(st.sampled_from(CURRENCIES)),
        include_tax=draw(st.booleans()),
        rounding=draw(st.sampled_from(TaxRounding.values)),
        lines=listed,
        prepaid_percent=draw(st.sampled_from((0, 0, 30, 100, 130))),
        buyer_name=draw(names),
        buyer_address=draw(st.one_of(st.just(""), long_words, st.just("7 Lane\nFlat 2\nMerrowby\nMB2 1AA"))),
        buyer_country=draw(st.sampled_from(("", "DE", "FR", "GB", "US"))),
        buyer_tax_id=draw(st.sampled_from(("", "FR12345678901", "gb 123 4567 89", "12/345", "n/a"))),
        buyer_reference=draw(words),
        fault=draw(long_words),
        terms=draw(long_words),
        with_registration=draw(st.booleans()),
        with_iban=draw(st.booleans()),
        work_done=draw(st.booleans()),
        credited=tuple(draw(st.sampled_from((0, 0, 1, 33, 50, 100))) for _ in listed),
    )


def totals_of(drawn: Drawn) -> Totals:
    rows = [
        Line(Decimal(1), Decimal(line.amount_minor), TaxKey(line.category or ("S" if line.tax_bp else "Z"), line.tax_bp))
        for line in drawn.lines
    ]
    return total(rows, prices_include_tax=drawn.include_tax, round_per_line=drawn.rounding == TaxRounding.LINE)


def write(drawn: Drawn, job: Job, person: Staff, at: datetime) -> Invoice:
    """The rows of an issued invoice."""
    sums, number = totals_of(drawn), next(_numbers)
    paper = Invoice.objects.create(
        **_head(drawn, job, person, at),
        number=f"R-2099-{number:05}",
        series="R",
        year=2099,
        sequence=number,
        net_minor=sums.net_minor,
        tax_minor=sums.tax_minor,
        gross_minor=sums.gross_minor,
        prepaid_minor=sums.gross_minor * drawn.prepaid_percent // 100,
    )
    rows = zip(drawn.lines, sums.line_net_minor, strict=True)
    InvoiceLine.objects.bulk_create(_row(paper, order, line, net) for order, (line, net) in enumerate(rows, 1))
    return paper


def _head(drawn: Drawn, job: Job, person: Staff, at: datetime) -> dict[str, Any]:
    seller = {**SELLER, **({} if drawn.with_registration else {"registration": ""}), **({} if drawn.with_iban else {"iban": ""})}
    return {
        "job": job,
        "customer": job.customer,
        "seller": seller,
        "buyer_name": drawn.buyer_name,
        "buyer_address": drawn.buyer_address,
        "buyer_country": drawn.buyer_country,
        "buyer_tax_id": drawn.buyer_tax_id,
        "buyer_reference": drawn.buyer_reference,
        "set_line": "Merrowby Kestrel 5, serial 4711",
        "fault": drawn.fault,
        "currency": drawn.currency,
        "prices_include_tax": drawn.include_tax,
        "tax_rounding": drawn.rounding,
        "tax_exempt_reason": "Small business, no tax is charged.",
        "terms": drawn.terms,
        "work_done_on": FIRST_DAY if drawn.work_done else None,
        "issued_on": FIRST_DAY + timedelta(days=1),
        "due_on": FIRST_DAY + timedelta(days=15),
        "at": at,
        "person": person,
    }


def _row(paper: Invoice, order: int, line: DrawnLine, net_minor: int) -> InvoiceLine:
    return InvoiceLine(
        invoice=paper,
        order=order,
        kind=line.kind,
        designator="C2" if line.kind == LineKind.PART else "",
        text=line.text,
        part_class="new" if line.kind == LineKind.PART else "",
        count=line.count,
        minutes=line.minutes,
        unit_minor=line.unit_minor if line.charged else 0,
        amount_minor=line.amount_minor,
        net_minor=net_minor,
        tax_bp=line.tax_bp,
        tax_category=line.category,
        charged=line.charged,
        not_charged_reason="" if line.charged else line.reason,
    )


def credit_notes(drawn: Drawn, invoice: Invoice, person: Staff, at: datetime) -> Iterator[Invoice]:
    """A first note over a part of an invoice, and a second one over the rest."""
    lines = zip(invoice.lines.all(), drawn.credited, strict=True)
    sums = [(line, line.amount_minor * percent // 100) for line, percent in lines if line.charged]
    parts = [PartOf(line, sum_minor=amount) for line, amount in sums if amount]
    if parts:
        yield credit_part(invoice, parts, "Agreed & <settled>", person=person, at=at)
        yield credit(invoice, "The rest, too", person=person, at=at)


def ubl_syntax(told: EInvoice) -> Syntax:
    return "ubl credit note" if told.is_credit else "ubl invoice"


@dataclass(frozen=True)
class Amounts:
    """What a receiver reads: (quantity, price, net, category, rate) a line, (category, rate, base, tax) a rate, the totals."""

    lines: tuple[tuple[Decimal, Decimal, Decimal, str, Decimal | None], ...]
    taxes: tuple[tuple[str, Decimal | None, Decimal, Decimal], ...]
    net: Decimal
    tax: Decimal
    gross: Decimal
    prepaid: Decimal
    due: Decimal


def _number(node: Any, path: str) -> Decimal | None:
    found = node.xpath(f"string({path})", namespaces=SPACES)
    return Decimal(found) if found else None


SPACES = {"cac": ubl.CAC, "cbc": ubl.CBC, "rsm": cii.RSM, "ram": cii.RAM}


def read_ubl(xml: bytes) -> Amounts:
    root = etree.fromstring(xml)

    def number(node: Any, path: str) -> Any:
        return _number(node, path)

    return Amounts(
        lines=tuple(
            (
                number(one, "cbc:InvoicedQuantity | cbc:CreditedQuantity"),
                number(one, "cac:Price/cbc:PriceAmount"),
                number(one, "cbc:LineExtensionAmount"),
                one.xpath("string(cac:Item/cac:ClassifiedTaxCategory/cbc:ID)", namespaces=SPACES),
                number(one, "cac:Item/cac:ClassifiedTaxCategory/cbc:Percent"),
            )
            for one in root.xpath("cac:InvoiceLine | cac:CreditNoteLine", namespaces=SPACES)
        ),
        taxes=tuple(
            (
                one.xpath("string(cac:TaxCategory/cbc:ID)", namespaces=SPACES),
                number(one, "cac:TaxCategory/cbc:Percent"),
                number(one, "cbc:TaxableAmount"),
                number(one, "cbc:TaxAmount"),
            )
            for one in root.xpath("cac:TaxTotal/cac:TaxSubtotal", namespaces=SPACES)
        ),
        net=number(root, "cac:LegalMonetaryTotal/cbc:TaxExclusiveAmount"),
        tax=number(root, "cac:TaxTotal/cbc:TaxAmount"),
        gross=number(root, "cac:LegalMonetaryTotal/cbc:TaxInclusiveAmount"),
        prepaid=number(root, "cac:LegalMonetaryTotal/cbc:PrepaidAmount") or Decimal(0),
        due=number(root, "cac:LegalMonetaryTotal/cbc:PayableAmount"),
    )


def read_cii(xml: bytes) -> Amounts:
    root = etree.fromstring(xml)
    settled = "rsm:SupplyChainTradeTransaction/ram:ApplicableHeaderTradeSettlement"
    sums = f"{settled}/ram:SpecifiedTradeSettlementHeaderMonetarySummation"

    def number(node: Any, path: str) -> Any:
        return _number(node, path)

    return Amounts(
        lines=tuple(
            (
                number(one, "ram:SpecifiedLineTradeDelivery/ram:BilledQuantity"),
                number(one, "ram:SpecifiedLineTradeAgreement/ram:NetPriceProductTradePrice/ram:ChargeAmount"),
                number(one, ".//ram:LineTotalAmount"),
                one.xpath("string(.//ram:ApplicableTradeTax/ram:CategoryCode)", namespaces=SPACES),
                number(one, ".//ram:ApplicableTradeTax/ram:RateApplicablePercent"),
            )
            for one in root.xpath("//ram:IncludedSupplyChainTradeLineItem", namespaces=SPACES)
        ),
        taxes=tuple(
            (
                one.xpath("string(ram:CategoryCode)", namespaces=SPACES),
                number(one, "ram:RateApplicablePercent"),
                number(one, "ram:BasisAmount"),
                number(one, "ram:CalculatedAmount"),
            )
            for one in root.xpath(f"{settled}/ram:ApplicableTradeTax", namespaces=SPACES)
        ),
        net=number(root, f"{sums}/ram:TaxBasisTotalAmount"),
        tax=number(root, f"{sums}/ram:TaxTotalAmount"),
        gross=number(root, f"{sums}/ram:GrandTotalAmount"),
        prepaid=number(root, f"{sums}/ram:TotalPrepaidAmount") or Decimal(0),
        due=number(root, f"{sums}/ram:DuePayableAmount"),
    )


def faults_of_sums(paper: Invoice, read: Amounts) -> list[str]:
    """Where what a receiver reads isn't what the paper froze, or doesn't add up: exact, by an arithmetic of its own."""
    frozen = {
        "net": paper.net_minor,
        "tax": paper.tax_minor,
        "gross": paper.gross_minor,
        "prepaid": paper.prepaid_minor,
        "due": paper.gross_minor - paper.prepaid_minor,
    }
    found = [
        f"{name}: {getattr(read, name)} is not {minor} minor units"
        for name, minor in frozen.items()
        if getattr(read, name) != as_money(minor, paper.currency).amount
    ]
    unit = as_money(1, paper.currency).amount
    for order, (line, row) in enumerate(zip(read.lines, paper.lines.all(), strict=True), 1):
        quantity, price, net, _, _ = line
        if net != as_money(row.net_minor, paper.currency).amount:
            found.append(f"line {order}: net {net}, frozen {row.net_minor}")
        if abs(quantity * price - net) > unit / 2:
            found.append(f"line {order}: {quantity} x {price} is not {net}")
    if sum(line[2] for line in read.lines) != read.net:
        found.append("lines don't sum to the net")
    if sum(row[3] for row in read.taxes) != read.tax or sum(row[2] for row in read.taxes) != read.net:
        found.append("rates don't sum to net and tax")
    return found
