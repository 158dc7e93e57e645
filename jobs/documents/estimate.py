"""The estimate: what the customer is asked to agree to, line by line."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Literal

from moneyed import Money
from reportlab.platypus import Flowable, KeepTogether, Table

from jobs.documents.blocks import owner_and_set
from jobs.documents.facts import SetFacts
from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, SignHere, link_with_code, notice, own_words, paper_head, points, space, sums
from shop.paper.frame import Heading, build, room_on
from shop.paper.tables import Column, facts, say, table
from shop.paper.wording import show_day, show_lasting, show_percent, show_range, show_sum

NOT_INCLUDED = (
    "Faults that only show once the set plays, such as silver-mica capacitors in coil cans or a winding that opens when warm: "
    + "they come to you as a newer version of this estimate, with what was found.",
    "Cabinet work, unless a line above names it.",
    "Carriage and packing.",
)


@dataclass(frozen=True, slots=True)
class EstimateLine:
    """`low`..`high` for the whole line, equal where the price is firm. `minutes` for labour, `unit` for parts."""

    kind: Literal["part", "labour", "flat", "fee"]
    text: str
    low: Money
    high: Money
    position: str = ""
    count: int = 1
    minutes: int = 0
    unit: Money | None = None


@dataclass(frozen=True, slots=True)
class TaxRange:
    """Tax of one rate: `label` is `VAT 20 %`."""

    label: str
    low: Money
    high: Money


@dataclass(frozen=True, slots=True)
class EstimatePaper:
    """One frozen version. `ceiling` = `total_high` + allowance: the most that may be charged without a newer consent.

    `replaces_version` is the version that this one takes the place of. `agree_url` is the customer's private page,
    empty where the paper goes out without a link.
    """

    letterhead: Letterhead
    job_number: str
    version: int
    made_at: datetime
    made_by: str
    customer: Party
    radio: SetFacts
    fault: str
    goal: str
    lines: tuple[EstimateLine, ...]
    net_low: Money
    net_high: Money
    taxes: tuple[TaxRange, ...]
    total_low: Money
    total_high: Money
    allowance_percent: Decimal
    ceiling: Money
    agree_url: str
    prices_include_tax: bool = False
    stands_until_on: date | None = None
    deposit: Money | None = None
    note: str = ""
    not_included: tuple[str, ...] = NOT_INCLUDED
    terms: str = ""
    replaces_version: int | None = None


PART_COLUMNS = (Column("position", 18, bold=True), Column("part"), Column("count", 12, "right"), Column("each", 27, "right"))
OTHER_COLUMNS = (Column("what"), Column("time", 24, "right"))
SUM_COLUMN = Column("sum", 44, "right", bold=True)


def _head(data: EstimatePaper) -> Heading:
    made = f"Made on {show_day(data.made_at.date(), data.letterhead.locale)} by {data.made_by}."
    before = f" It takes the place of version {data.replaces_version}." if data.replaces_version else ""
    return Heading("Estimate", f"{data.job_number} / {data.version}", f"Version {data.version}. {made}{before}")


def _part_table(data: EstimatePaper, room: float) -> Table:
    locale = data.letterhead.locale
    rows = [
        (line.position, line.text, str(line.count), show_sum(line.unit, locale), show_range(line.low, line.high, locale))
        for line in data.lines
        if line.kind == "part"
    ]
    return table((*PART_COLUMNS, SUM_COLUMN), rows, room)


def _work_table(data: EstimatePaper, room: float) -> Table:
    """Labour with its time, then what has a fixed price."""
    lines = [line for kind in ("labour", "flat", "fee") for line in data.lines if line.kind == kind]
    rows = [(line.text, _time_words(line), show_range(line.low, line.high, data.letterhead.locale)) for line in lines]
    return table((*OTHER_COLUMNS, SUM_COLUMN), rows, room)


def _time_words(line: EstimateLine) -> str:
    if line.kind == "labour":
        return show_lasting(line.minutes) if line.minutes else ""
    return "fee" if line.kind == "fee" else "fixed price"


def _line_sections(data: EstimatePaper, section: Sections, room: float) -> list[Flowable]:
    kinds = {line.kind for line in data.lines}
    return [
        *(section("Parts", [_part_table(data, room)]) if "part" in kinds else []),
        *(section("Labour and fees" if "fee" in kinds else "Labour", [_work_table(data, room)]) if kinds - {"part"} else []),
    ]


def _sum_rows(data: EstimatePaper) -> list[tuple[str, str]]:
    locale = data.letterhead.locale
    within = "of which " if data.prices_include_tax else ""
    taxes = [(f"{within}{tax.label}", show_range(tax.low, tax.high, locale)) for tax in data.taxes]
    net = ("Without tax", show_range(data.net_low, data.net_high, locale))
    total = ("Total", show_range(data.total_low, data.total_high, locale))
    return [net, *taxes, total] if taxes else [total]


def _ceiling_words(data: EstimatePaper) -> str:
    ceiling = show_sum(data.ceiling, data.letterhead.locale)
    allowance = (
        f"the total plus {show_percent(data.allowance_percent)}" if data.allowance_percent else "the total, with nothing on top"
    )
    return (
        f"We will not charge more than {ceiling} ({allowance}) without a newer consent of yours. "
        "Should the work turn out to need more, we stop, and you get a newer version with what was found."
    )


def _agree(data: EstimatePaper, room: float) -> list[Flowable]:
    locale = data.letterhead.locale
    pairs = (
        ("stands until", show_day(data.stands_until_on, locale)),
        ("deposit received", show_sum(data.deposit, locale)),
    )
    words = "Agree or decline on your private page, call us, or sign below and send this paper back."
    link = (
        [link_with_code(data.agree_url, words, room)]
        if data.agree_url
        else [say("Call us, or sign below and send this paper back.", 9)]
    )
    return [
        facts(pairs, room),
        *link,
        SignHere(("I agree to this estimate (signature)", "Name", "Date")),
    ]


def draw(data: EstimatePaper) -> bytes:
    """The estimate as a PDF. The most that may be charged is the data's `ceiling`; nothing is reckoned here."""
    room, heading, section = room_on(data.letterhead.paper), _head(data), Sections()
    story = [
        *paper_head(data.letterhead, heading),
        *owner_and_set(data.letterhead, data.customer, data.radio),
        *section(
            "The fault, in your own words", [*own_words(data.fault), say(f"What it shall become: {data.goal}", 8.5, limit=200)]
        ),
        *_line_sections(data, section, room),
        KeepTogether([sums(_sum_rows(data), room), space(3), notice(_ceiling_words(data), room, "The most this can cost")]),
        space(4),
        *(section("A word on this estimate", [say(data.note, 9)]) if data.note else []),
        *(section("Not included", points(data.not_included)) if data.not_included else []),
        *([notice(data.terms, room, "Terms"), space(4)] if data.terms else []),
        *section("How to agree", _agree(data, room), keep=True),
    ]
    return build(data.letterhead, heading, story)
