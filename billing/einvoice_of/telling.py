"""An issued paper as EN 16931 tells it, from the paper's own rows and nothing else."""

import re
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from billing.einvoice.pairs import labour_pair, part_pair
from billing.einvoice.sums import differences
from billing.einvoice.terms import EInvoice, Item, NotTold, Rate, RateSum, Trader
from billing.einvoice_of.missing import Rows
from billing.einvoice_of.rows import PERCENT, exempt_reason, rate_of, vat_id_of
from billing.models import Invoice, InvoiceLine, LineKind
from billing.queries import frozen_totals
from shop.letterhead_of import address_lines
from shop.models import TaxCategory
from shop.money import as_money
from shop.paper.text import clean, plain
from shop.paper.wording import show_lasting

NOTE_LENGTH, LONGEST_LINE = 2000, 300


def einvoice_of(paper: Invoice) -> EInvoice:
    """The paper as EN 16931 tells it; raises NotTold with every reason why not."""
    lines = list(paper.lines.all())  # type: ignore[attr-defined]
    Rows(paper, lines).refuse()
    told = _told(paper, lines)
    wrong = differences(told)
    if wrong:
        raise NotTold(["The sums of this paper don't follow from its lines; have the books verified.", *wrong])
    return told


def _told(paper: Invoice, lines: Sequence[InvoiceLine]) -> EInvoice:
    outside = any(rate_of(line).category == TaxCategory.OUTSIDE for line in lines)
    seller = _seller(paper.seller, outside)

    def money(minor: int) -> Decimal:
        return as_money(minor, paper.currency).amount

    return EInvoice(
        number=paper.number,
        issued_on=paper.issued_on,
        currency=paper.currency,
        seller=seller,
        buyer=_buyer(paper, seller, outside),
        items=tuple(_item(line, order, paper.currency) for order, line in enumerate(lines, 1)),
        taxes=_taxes(paper, lines),
        net=money(paper.net_minor),
        tax=money(paper.tax_minor),
        gross=money(paper.gross_minor),
        prepaid=money(paper.prepaid_minor),
        due=money(paper.gross_minor - paper.prepaid_minor),
        due_on=paper.due_on,
        credits=(paper.credits.number, paper.credits.issued_on) if paper.credits else None,
        buyer_reference=plain(paper.buyer_reference),
        delivered_on=paper.work_done_on,
        delivered_to="" if paper.work_done_on else plain(paper.buyer_name),
        notes=_notes(paper),
        payment_terms=f"Counts against invoice {paper.credits.number}." if paper.credits else "",
        iban="" if paper.is_credit else re.sub(r"\s", "", paper.seller.get("iban", "")),
    )


def _seller(frozen: dict[str, Any], outside: bool) -> Trader:
    """Where all is outside the tax, no number may be told as a VAT number (BR-O-02)."""
    number, registration = plain(frozen.get("tax_id", "")), plain(frozen.get("registration", ""))
    vat_id = "" if outside else vat_id_of(number)
    return Trader(
        name=plain(frozen["shop_name"]),
        address=_lines(frozen.get("address_lines", ())),
        country=frozen["country"],
        vat_id=vat_id,
        tax_number="" if vat_id else number,
        registration=registration,
        identifier="" if vat_id or registration else number,
        phone=plain(frozen.get("phone", "")),
        email=plain(frozen.get("email", "")),
    )


def _buyer(paper: Invoice, seller: Trader, outside: bool) -> Trader:
    """A customer without a country lives in the shop's. Their number is told as a VAT number only where it is one."""
    vat_id = "" if outside else vat_id_of(paper.buyer_tax_id)
    return Trader(
        name=plain(paper.buyer_name),
        address=_lines(address_lines(paper.buyer_address)),
        country=paper.buyer_country or seller.country,
        vat_id=vat_id,
        identifier="" if vat_id else plain(paper.buyer_tax_id),
    )


def _lines(typed: Iterable[str]) -> tuple[str, ...]:
    return tuple(line for line in (plain(one) for one in typed) if line)


def _notes(paper: Invoice) -> tuple[str, ...]:
    said = [
        f"Set: {paper.set_line}",
        f"Fault, in the customer's words: {paper.fault}" if paper.fault else "",
        f"Why it is credited: {paper.reason}" if paper.reason else "",
        *(one for one in paper.must_say if isinstance(one, str)),
        paper.terms,
    ]
    return tuple(note for note in (clean(one, NOTE_LENGTH) for one in said) if note)


def _item(line: InvoiceLine, order: int, currency: str) -> Item:
    net = as_money(line.net_minor, currency).amount
    by_time = line.kind == LineKind.LABOUR
    quantity, unit, price = labour_pair(net, line.minutes) if by_time else part_pair(net, line.count)
    facts = (
        ("Position", plain(line.designator)),
        ("Class", line.part_class),
        ("Time charged", show_lasting(line.minutes) if line.minutes else ""),
    )
    return Item(
        order=str(order),
        name=plain(line.text, LONGEST_LINE) or line.get_kind_display(),
        quantity=quantity,
        unit=unit,
        price=price,
        net=net,
        rate=rate_of(line),
        note=_note_on(line),
        facts=tuple((name, value) for name, value in facts if value),
    )


def _note_on(line: InvoiceLine) -> str:
    if not line.charged:
        return f"Not charged: {plain(line.not_charged_reason) or 'no reason was written down'}"
    before = line.credits_line_id and not line.amount_minor
    return "Nothing was left to credit on this line." if before else ""


def _taxes(paper: Invoice, lines: Sequence[InvoiceLine]) -> tuple[RateSum, ...]:
    """The breakdown: what the lines come to, and the tax that the paper itself charged at each rate."""
    rates = sorted({rate_of(line) for line in lines}, key=lambda rate: (-(rate.percent or 0), rate.category))
    charged = {one.tax.rate_bp: one.tax_minor for one in frozen_totals(paper, lines).taxes if one.tax.rate_bp}
    return tuple(_rate_sum(rate, lines, charged, paper) for rate in rates)


def _rate_sum(rate: Rate, lines: Sequence[InvoiceLine], charged: dict[Any, int], paper: Invoice) -> RateSum:
    taxable = sum(line.net_minor for line in lines if rate_of(line) == rate)
    tax = charged.get(rate.percent * PERCENT, 0) if rate.percent else 0
    without_tax = rate.category in (TaxCategory.EXEMPT, TaxCategory.OUTSIDE)
    return RateSum(
        rate,
        as_money(taxable, paper.currency).amount,
        as_money(tax, paper.currency).amount,
        exempt_reason(paper) if without_tax else "",
    )
