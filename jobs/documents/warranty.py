"""The warranty record: what the shop stands by, line by line, and until when."""

from dataclasses import dataclass
from datetime import date

from reportlab.platypus import Flowable, KeepTogether

from jobs.documents.blocks import owner_and_set
from jobs.documents.facts import SetFacts
from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, SignHere, link_with_code, notice, paper_head, points, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.tables import Column, say, table
from shop.paper.wording import show_day

VOID_RULES = (
    "The set was run on another line voltage or frequency than it is marked for.",
    "It was run without its back, knobs or other parts of the cabinet that keep hands away from the chassis.",
    "Somebody else worked on the chassis after hand-over.",
    "Damp, a fall, lightning, leaking batteries.",
)
HOW_TO_CLAIM = (
    "Switch the set off and leave it off. Call or write to us with the job number and what it does, in your own words. "
    "Bring this record. We judge the claim by position, fault and date against the log of this job. "
    "If any of it is to be charged, you hear so first."
)


@dataclass(frozen=True, slots=True)
class WarrantyLinePaper:
    """`until_on` is the last day of cover; None where the line is not covered, with the reason in `note`."""

    text: str
    until_on: date | None
    position: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class WarrantyPaper:
    letterhead: Letterhead
    job_number: str
    customer: Party
    radio: SetFacts
    starts_on: date
    lines: tuple[WarrantyLinePaper, ...]
    job_url: str
    not_covered: tuple[str, ...] = ()
    void_rules: tuple[str, ...] = VOID_RULES
    how_to_claim: str = HOW_TO_CLAIM
    terms: str = ""
    invoice_number: str = ""
    signed_by: str = ""


COVERED_COLUMNS = (Column("position", 18, bold=True), Column("part or work"), Column("covered to the end of", 42, bold=True))
UNCOVERED_COLUMNS = (Column("position", 18, bold=True), Column("part or work"), Column("why not", 62))


def _covered(data: WarrantyPaper, room: float) -> list[Flowable]:
    rows = [
        (line.position, f"{line.text}\n{line.note}" if line.note else line.text, show_day(line.until_on, data.letterhead.locale))
        for line in data.lines
        if line.until_on
    ]
    return [table(COVERED_COLUMNS, rows, room)] if rows else [say("No line of this job is covered.")]


def _uncovered(data: WarrantyPaper, room: float) -> list[Flowable]:
    rows = [(line.position, line.text, line.note or "not covered") for line in data.lines if not line.until_on]
    return [*([table(UNCOVERED_COLUMNS, rows, room), space(1.5)] if rows else []), *points(data.not_covered)]


def draw(data: WarrantyPaper) -> bytes:
    """The warranty record as a PDF."""
    room, section = room_on(data.letterhead.paper), Sections()
    bill = f" Invoice {data.invoice_number}." if data.invoice_number else ""
    heading = Heading("Warranty record", data.job_number, f"Runs from {show_day(data.starts_on, data.letterhead.locale)}.{bill}")
    not_covered = _uncovered(data, room)
    claim = [say(data.how_to_claim, 9, after=4, limit=1200), link_with_code(data.job_url, "This job in our books:", room, 24)]
    story = [
        *paper_head(data.letterhead, heading),
        *owner_and_set(data.letterhead, data.customer, data.radio),
        *section("What we stand by", _covered(data, room)),
        *(section("What is not covered", not_covered) if not_covered else []),
        *(section("What ends the cover", points(data.void_rules)) if data.void_rules else []),
        *section("If something is wrong", claim, keep=True),
        KeepTogether(
            [
                *([notice(data.terms, room, "Terms")] if data.terms else []),
                SignHere((f"For {data.letterhead.shop_name}: {data.signed_by}", "Date")),
            ]
        ),
    ]
    return build(data.letterhead, heading, story)
