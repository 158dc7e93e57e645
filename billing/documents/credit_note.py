"""The credit note: what an earlier invoice charged and this paper takes back."""

from dataclasses import dataclass
from datetime import date

from moneyed import Money

from billing.documents.blocks import line_sections, tax_rows
from billing.documents.lines import BillLine, SumRow, TaxLine
from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, notices, paper_head, party_block, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.keeping import closed
from shop.paper.sums import summed
from shop.paper.tables import beside, facts, say
from shop.paper.wording import show_day, show_sum


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
    tax_note: str = ""
    whole: bool = True


def sum_rows(data: CreditNotePaper) -> tuple[SumRow, ...]:
    """The sums as the PDF and the page show them."""
    locale = data.letterhead.locale
    before = tax_rows(data.net, data.taxes, data.tax_total, locale)
    return (*(SumRow(*row) for row in before), SumRow("Credited in all", show_sum(data.gross, locale), is_strong=True))


def draw(data: CreditNotePaper) -> bytes:
    """The credit note as a PDF."""
    room, section, locale = room_on(data.letterhead.paper), Sections(), data.letterhead.locale
    heading = Heading("Credit note", data.number, _what(data))
    pairs = (
        ("issued on", show_day(data.issued_on, locale)),
        ("invoice", f"{data.credits_number} of {show_day(data.credits_issued_on, locale)}"),
        ("job", data.job_number),
        ("set", data.set_line),
    )
    story = [
        *paper_head(data.letterhead, heading),
        beside(party_block("To", data.buyer), [facts(pairs, room * 0.52, 20, limit=320)], room, 0.48),
        space(5),
        *section("Why", [say(data.reason, 9.5, limit=1000)]),
        *closed(line_sections(data.lines, data.prices_include_tax, section, room, locale), [summed(sum_rows(data), room)], room),
        space(4),
        *notices((("Tax", data.tax_note), ("Terms", data.terms)), room),
    ]
    return build(data.letterhead, heading, story)


def _what(data: CreditNotePaper) -> str:
    return f"Takes back {'what was charged' if data.whole else 'a part of what was charged'} on invoice {data.credits_number}."
