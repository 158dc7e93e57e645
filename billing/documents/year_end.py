"""The year's end for whoever keeps the books: what was there, what was owed, what is told beside it, what nobody can say."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from moneyed import Money
from reportlab.platypus import Flowable

from billing.documents.lines import SumRow
from shop.paper import Letterhead
from shop.paper.blocks import Sections, notice, paper_head, points, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.keeping import closed
from shop.paper.sums import summed
from shop.paper.tables import Column, say, table
from shop.paper.wording import show_day, show_short_day, show_sum


@dataclass(frozen=True, slots=True)
class YearEndLine:
    text: str
    detail: str
    sum: Money


@dataclass(frozen=True, slots=True)
class YearEndPart:
    """`kind` is what it is called. The lines add up to `total`; `empty` is said where there are none."""

    kind: str
    note: str
    lines: tuple[YearEndLine, ...]
    total: Money
    empty: str


@dataclass(frozen=True, slots=True)
class YearEndPaper:
    """All as it stood at the end of a day. `there` and `owed` add up to their totals; `told` stands beside them."""

    letterhead: Letterhead
    as_of_on: date
    there: tuple[YearEndPart, ...]
    there_total: Money
    owed: tuple[YearEndPart, ...]
    owed_total: Money
    told: tuple[YearEndPart, ...] = ()
    unknown: tuple[str, ...] = ()


COLUMNS = (Column("what", 62, bold=True), Column("how it comes about"), Column("sum", 30, "right"))
CAUTION = (
    "Drawn from the shop's own ledgers as they stood then. Standards are named where the figures follow them. Which rules hold "
    "for these books, and their current text, is for whoever signs them to say."
)


def sum_rows(data: YearEndPaper) -> tuple[SumRow, ...]:
    """What was there and what was owed, part by part, as the first page shows it."""
    locale = data.letterhead.locale
    return (
        *(SumRow(one.kind, show_sum(one.total, locale)) for one in data.there),
        SumRow("There in all", show_sum(data.there_total, locale), is_strong=True),
        *(SumRow(one.kind, show_sum(one.total, locale)) for one in data.owed),
        SumRow("Owed in all", show_sum(data.owed_total, locale), is_strong=True),
    )


def draw(data: YearEndPaper) -> bytes:
    """The year's end as a PDF. It shows the sums it is given and reckons none."""
    room, section, locale = room_on(data.letterhead.paper), Sections(), data.letterhead.locale
    day = show_day(data.as_of_on, locale)
    heading = Heading("Year’s end", show_short_day(data.as_of_on, locale), f"As it stood at the end of {day}.")
    story: list[Flowable] = [
        *paper_head(data.letterhead, heading),
        *section("What was there and what was owed", [summed(sum_rows(data), room)]),
        notice(CAUTION, room, "Caution"),
        space(4),
    ]
    for part in (*data.there, *data.owed, *data.told):
        story += [*_part(part, section, room, locale), space(4)]
    story += section("What the books can't say of a past day", points(data.unknown)) if data.unknown else []
    return build(data.letterhead, heading, story)


def _part(part: YearEndPart, section: Sections, room: float, locale: str) -> Sequence[Flowable]:
    note = say(part.note, 8.5, limit=600)
    if not part.lines:
        return [*section(part.kind, [note, say(part.empty)])]
    rows = [(one.text, one.detail, show_sum(one.sum, locale)) for one in part.lines]
    closing = [summed((SumRow("Together", show_sum(part.total, locale), is_strong=True),), room), note]
    return closed(section(part.kind, [table(COLUMNS, rows, room)]), closing, room)
