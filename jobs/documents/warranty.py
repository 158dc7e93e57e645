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
class GivenTerms:
    """The terms frozen with the warranty: days by kind of line (0: not covered), what it runs from, the law beside them.

    `goes_along`: whether it goes with the set to a new owner. `law_note` says what to mind; `citation` where the law stands.
    """

    days: tuple[tuple[str, int], ...]
    starts_from: str
    goes_along: bool
    place: str = ""
    law: str = ""
    citation: str = ""
    law_note: str = ""

    @property
    def spans(self) -> tuple[tuple[str, str], ...]:
        return tuple((kind, f"{days} days" if days else "not covered") for kind, days in self.days)

    @property
    def transfer_words(self) -> str:
        if self.goes_along:
            return "If the set changes hands, this warranty goes along to the new owner; tell us who it is."
        return "This warranty is for the customer named here; it ends when the set changes hands."


@dataclass(frozen=True, slots=True)
class PassedOn:
    """The set changed hands on a day; `goes_along` says whether the warranty did."""

    on: date
    from_name: str
    to_name: str
    goes_along: bool

    @property
    def words(self) -> str:
        end = "the warranty went along" if self.goes_along else "the warranty ended with it"
        return f"from {self.from_name} to {self.to_name}; {end}"


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
    given: GivenTerms | None = None
    handed_on: tuple[PassedOn, ...] = ()
    held: str = ""


COVERED_COLUMNS = (Column("position", 18, bold=True), Column("part or work"), Column("covered to the end of", 42, bold=True))
UNCOVERED_COLUMNS = (Column("position", 18, bold=True), Column("part or work"), Column("why not", 62))
SPAN_COLUMNS = (Column("kind of line"), Column("covered for", 42, bold=True))
PASSED_COLUMNS = (Column("day", 42, bold=True), Column("who"))


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


def _terms(given: GivenTerms, room: float) -> list[Flowable]:
    words = f"It runs from {given.starts_from}; the last day counts. {given.transfer_words}"
    return [table(SPAN_COLUMNS, given.spans, room), space(1.5), say(words, 9, limit=400)]


def _law(given: GivenTerms) -> list[Flowable]:
    where = f"{given.place}: {given.citation}. " if given.citation else ""
    return [say(given.law, 9, after=3, limit=1200), say(f"{where}{given.law_note}", 8, limit=600)]


def _passed_on(data: WarrantyPaper, room: float) -> list[Flowable]:
    rows = [(show_day(one.on, data.letterhead.locale), one.words) for one in data.handed_on]
    return [table(PASSED_COLUMNS, rows, room), space(1.5), say(data.held, 9)]


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
        *(section("How long each kind is covered", _terms(data.given, room), keep=True) if data.given else []),
        *(section("What ends the cover", points(data.void_rules)) if data.void_rules else []),
        *(section("The set changed hands", _passed_on(data, room)) if data.handed_on else []),
        *(section("Your rights by law", _law(data.given), keep=True) if data.given and data.given.law else []),
        *section("If something is wrong", claim, keep=True),
        KeepTogether(
            [
                *([notice(data.terms, room, "Terms")] if data.terms else []),
                SignHere((f"For {data.letterhead.shop_name}: {data.signed_by}", "Date")),
            ]
        ),
    ]
    return build(data.letterhead, heading, story)
