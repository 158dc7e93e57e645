"""The statement: how a customer's account stands on a day."""

from dataclasses import dataclass
from datetime import date

from moneyed import Money
from reportlab.platypus import KeepTogether

from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, notice, paper_head, party_block, space, sums
from shop.paper.frame import Heading, build, room_on
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


def draw(data: StatementPaper) -> bytes:
    """The statement as a PDF."""
    room, section, locale = room_on(data.letterhead.paper), Sections(), data.letterhead.locale
    day = show_day(data.as_of_on, locale)
    heading = Heading("Statement", show_short_day(data.as_of_on, locale), f"Your account with us as it stood on {day}.")
    lines = [table(COLUMNS, [_row(line, locale) for line in data.lines], room)] if data.lines else [say("Nothing was booked.")]
    overdue = [("Of this overdue", show_sum(data.overdue, locale))] if data.overdue else []
    rows = [*overdue, ("Open in all", show_sum(data.due, locale))]
    story = [
        *paper_head(data.letterhead, heading),
        *party_block("For", data.customer),
        space(5),
        *section("What was charged and received", lines),
        KeepTogether([sums(rows, room), space(4), *([notice(data.how_to_pay, room, "How to pay")] if data.how_to_pay else [])]),
    ]
    return build(data.letterhead, heading, story)
