"""The statement: how a customer's account stands on a day."""

from dataclasses import dataclass
from datetime import date

from moneyed import Money

from billing.documents.lines import SumRow
from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, notice, paper_head, party_block, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.keeping import closed
from shop.paper.sums import summed
from shop.paper.tables import Column, say, table
from shop.paper.wording import show_day, show_short_day, show_sum


@dataclass(frozen=True, slots=True)
class StatementLine:
    """One invoice, credit note or payment. `charged` or `received` is set, and `balance` is what was open after it."""

    on: date
    text: str
    balance: Money
    charged: Money | None = None
    received: Money | None = None
    due_on: date | None = None


@dataclass(frozen=True, slots=True)
class StatementPaper:
    letterhead: Letterhead
    customer: Party
    as_of_on: date
    lines: tuple[StatementLine, ...]
    due: Money
    overdue: Money | None = None
    how_to_pay: str = ""
    from_on: date | None = None
    opening: Money | None = None


COLUMNS = (
    Column("day", 23),
    Column("what"),
    Column("due on", 23),
    Column("charged", 26, "right"),
    Column("received", 26, "right"),
    Column("open after it", 26, "right", bold=True),
)


def _row(line: StatementLine, locale: str) -> tuple[str, ...]:
    sums_of = (line.charged, line.received, line.balance)
    return (
        show_short_day(line.on, locale),
        line.text,
        show_short_day(line.due_on, locale),
        *(show_sum(money, locale) for money in sums_of),
    )


def _opening(data: StatementPaper) -> list[tuple[str, ...]]:
    if data.opening is None or data.from_on is None:
        return []
    locale = data.letterhead.locale
    return [(show_short_day(data.from_on, locale), "Open before this day", "", "", "", show_sum(data.opening, locale))]


def sum_rows(data: StatementPaper) -> tuple[SumRow, ...]:
    """The sums as the PDF and the page show them."""
    locale = data.letterhead.locale
    overdue = [SumRow("Of this overdue", show_sum(data.overdue, locale))] if data.overdue else []
    return (*overdue, SumRow("Open in all", show_sum(data.due, locale), is_strong=True))


def draw(data: StatementPaper) -> bytes:
    """The statement as a PDF."""
    room, section, locale = room_on(data.letterhead.paper), Sections(), data.letterhead.locale
    day = show_day(data.as_of_on, locale)
    heading = Heading("Statement", show_short_day(data.as_of_on, locale), f"Your account with us as it stood on {day}.")
    rows_of = [*_opening(data), *(_row(line, locale) for line in data.lines)]
    lines = [table(COLUMNS, rows_of, room)] if rows_of else []
    lines += [] if data.lines else [say("Nothing was booked.")]
    story = [
        *paper_head(data.letterhead, heading),
        *party_block("For", data.customer),
        space(5),
        *closed(section("What was charged and received", lines), [summed(sum_rows(data), room, 84)], room),
        *([space(4), notice(data.how_to_pay, room, "How to pay")] if data.how_to_pay else []),
    ]
    return build(data.letterhead, heading, story)
