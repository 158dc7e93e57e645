"""The invoice: parts with their class, labour, what was not charged and why, tax by rate, what is still due."""

from dataclasses import dataclass
from datetime import date

from moneyed import Money
from reportlab.platypus import Flowable, KeepTogether

from billing.documents.blocks import line_sections, tax_rows
from billing.documents.lines import BillLine, FreeLine, PaymentLine, SumRow, TaxLine
from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, notices, own_words, paper_head, party_block, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.keeping import closed
from shop.paper.sums import summed
from shop.paper.tables import Column, beside, facts, table
from shop.paper.wording import show_day, show_short_day, show_sum


@dataclass(frozen=True, slots=True)
class InvoicePaper:
    """An issued invoice. `parts_total` is the same fold over the log as the job summary's.

    `must_say` holds what the place prescribes word by word, `tax_note` why no tax is charged.
    `consent` says what the sum was agreed by: `Agreed by A. Customer on 3 March, estimate version 2, up to ...`.
    """

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
    work_done_on: date | None = None
    buyer_reference: str = ""
    tax_note: str = ""
    must_say: tuple[str, ...] = ()


FREE_COLUMNS = (
    Column("position", 18, bold=True),
    Column("part or work"),
    Column("class", 15),
    Column("count", 12, "right"),
    Column("why it is not charged", 62),
)


def _terms_of(data: InvoicePaper, room: float) -> list[Flowable]:
    locale = data.letterhead.locale
    pairs = (
        ("issued on", show_day(data.issued_on, locale)),
        ("due on", show_day(data.due_on, locale)),
        ("finished on", show_day(data.work_done_on, locale)),
        ("reference", data.buyer_reference),
        ("job", data.job_number),
        ("set", data.set_line),
    )
    return [facts(pairs, room, 20, limit=320)]


def _free(data: InvoicePaper, section: Sections, room: float) -> list[Flowable]:
    rows = [(line.position, line.text, line.part_class, str(line.count), line.reason) for line in data.not_charged]
    return section("Not charged", [table(FREE_COLUMNS, rows, room)]) if rows else []


def _kind_rows(data: InvoicePaper) -> list[tuple[str, str]]:
    """The parts total is always shown: it is the figure that the job summary must show, too."""
    rows = [("Parts total", data.parts_total, True), ("Labour total", data.labour_total, True)]
    rows.append(("Fixed tasks total", data.flat_total, bool(data.flat_total)))
    return [(label, show_sum(total, data.letterhead.locale)) for label, total, shown in rows if shown]


def sum_rows(data: InvoicePaper) -> tuple[SumRow, ...]:
    """The sums as the PDF and the page show them."""
    locale = data.letterhead.locale
    before = [*_kind_rows(data), *tax_rows(data.net, data.taxes, data.tax_total, locale)]
    paid = [(f"{one.label}, {show_short_day(one.paid_on, locale)}", show_sum(-one.amount, locale)) for one in data.payments]
    return (
        *(SumRow(*row) for row in before),
        SumRow("Total", show_sum(data.gross, locale), is_strong=True),
        *(SumRow(*row) for row in paid),
        SumRow("Still due", show_sum(data.due, locale), is_strong=True),
    )


def _lines(data: InvoicePaper, section: Sections, room: float) -> list[Flowable]:
    charged = line_sections(data.lines, data.prices_include_tax, section, room, data.letterhead.locale)
    return [*charged, *_free(data, section, room)]


def draw(data: InvoicePaper) -> bytes:
    """The invoice as a PDF. It shows the sums it is given and reckons none."""
    room, section = room_on(data.letterhead.paper), Sections()
    heading = Heading("Invoice", data.number, "Prices hold the tax." if data.prices_include_tax else "Prices are without tax.")
    story = [
        *paper_head(data.letterhead, heading),
        beside(party_block("To", data.buyer), _terms_of(data, room * 0.52), room, 0.48),
        space(5),
        *section("The fault, in your own words", own_words(data.fault)),
        *closed(_lines(data, section, room), [summed(sum_rows(data), room)], room),
        space(4),
        KeepTogether(_notices(data, room)),
    ]
    return build(data.letterhead, heading, story)


def _notices(data: InvoicePaper, room: float) -> list[Flowable]:
    rows = (
        ("What you agreed to", data.consent),
        ("Tax", data.tax_note),
        ("How to pay", data.how_to_pay),
        *(("Prescribed notice", text) for text in data.must_say),
        ("Terms", data.terms),
    )
    return notices(rows, room)
