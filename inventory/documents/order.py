"""The order to a supplier: their codes, counts and packs, prices, carriage, total."""

from dataclasses import dataclass
from datetime import date

from moneyed import Money
from reportlab.platypus import Flowable

from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, notice, paper_head, party_block, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.keeping import closed
from shop.paper.sums import SumRow, summed
from shop.paper.tables import Column, beside, facts, table
from shop.paper.wording import show_day, show_fine_sum, show_short_day, show_sum


@dataclass(frozen=True, slots=True)
class OrderPaperLine:
    """`unit_milli` in thousandths of the smallest coin, as small parts cost less than one; `amount` is the line's rounded sum."""

    code: str
    text: str
    count: int
    pack_size: int
    unit_milli: int
    amount: Money
    needed_on: date | None = None

    @property
    def packs(self) -> str:
        """`4 of 25`; empty where pieces are sold one by one."""
        return f"{self.count // self.pack_size} of {self.pack_size}" if self.pack_size > 1 else ""


@dataclass(frozen=True, slots=True)
class OrderPaper:
    """An order in the supplier's currency. Without a number it is a draft, and says so."""

    letterhead: Letterhead
    number: str
    supplier: Party
    lines: tuple[OrderPaperLine, ...]
    goods: Money
    carriage: Money
    total: Money
    sent_on: date | None = None
    expected_on: date | None = None
    our_number: str = ""
    ordered_by: str = ""
    note: str = ""


COLUMNS = (
    Column("your code", 32, bold=True),
    Column("part"),
    Column("count", 15, "right"),
    Column("packs", 20, "right"),
    Column("each", 24, "right"),
    Column("sum", 26, "right", bold=True),
)


def draw(data: OrderPaper) -> bytes:
    """The order as a PDF. It shows the sums it is given and reckons none."""
    room, section, locale = room_on(data.letterhead.paper), Sections(), data.letterhead.locale
    heading = Heading("Order", data.number or "draft", "" if data.number else "A draft: nothing is ordered by it.")
    rows = [
        SumRow("Goods", show_sum(data.goods, locale)),
        SumRow("Carriage", show_sum(data.carriage, locale)),
        SumRow("Total without tax", show_sum(data.total, locale), is_strong=True),
    ]
    story = [
        *paper_head(data.letterhead, heading),
        beside(party_block("To", data.supplier), _facts(data, room * 0.52), room, 0.48),
        space(5),
        *closed(section("We order", [_table(data, room)]), [summed(rows, room)], room),
        *([space(4), notice(data.note, room, "Note")] if data.note else []),
    ]
    return build(data.letterhead, heading, story)


def _facts(data: OrderPaper, room: float) -> list[Flowable]:
    locale = data.letterhead.locale
    pairs = (
        ("ordered on", show_day(data.sent_on, locale)),
        ("ordered by", data.ordered_by),
        ("our number with you", data.our_number),
        ("expected by", show_day(data.expected_on, locale)),
        ("currency", data.total.currency.code),
    )
    return [facts([pair for pair in pairs if pair[1]], room, 34, limit=320)]


def _table(data: OrderPaper, room: float) -> Flowable:
    locale = data.letterhead.locale
    rows = [
        (
            line.code,
            f"{line.text}\nneeded by {show_short_day(line.needed_on, locale)}" if line.needed_on else line.text,
            f"{line.count:,}",
            line.packs,
            show_fine_sum(line.unit_milli, data.total.currency.code, locale),
            show_sum(line.amount, locale),
        )
        for line in data.lines
    ]
    return table(COLUMNS, rows, room)
