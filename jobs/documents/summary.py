"""The job summary: what was found, done and left alone, in plain words, for the owner of the set to keep."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from moneyed import Money
from reportlab.platypus import Flowable

from jobs.documents.blocks import owner_and_set, safety_circumstances, safety_readings
from jobs.documents.facts import Counted, SafetyFacts, SetFacts
from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, SignHere, cautions, own_words, paper_head, points, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.marks import passed_mark, verdict_mark
from shop.paper.tables import Column, say, table
from shop.paper.wording import show_day, show_lasting, show_moment, show_sum


@dataclass(frozen=True, slots=True)
class ComponentRow:
    """One position as the log leaves it, in circuit order. `verdict` is a label: `within tolerance`, `open`, ...

    `price` is None where nothing was fitted; a fitted part that is not charged costs 0 and has its reason among `not_charged`.
    """

    position: str
    role: str
    called: str = ""
    found: str = ""
    measured: str = ""
    verdict: str = ""
    decision: str = ""
    fitted: str = ""
    price: Money | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """A wiring finding: what was wired otherwise than the schematic. `where` may name a position or be empty."""

    text: str
    where: str = ""


@dataclass(frozen=True, slots=True)
class LeftAlone:
    """What was deliberately not touched, and why."""

    what: str
    why: str


@dataclass(frozen=True, slots=True)
class OverrideNote:
    """A part fitted against a rule. Always printed: the owner must know."""

    position: str
    what: str
    reason: str
    fitted_by: str
    second_person: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class NotCharged:
    what: str
    reason: str
    position: str = ""


@dataclass(frozen=True, slots=True)
class SoakFacts:
    started_at: datetime
    minutes: int
    passed: bool
    note: str = ""


@dataclass(frozen=True, slots=True)
class WorkDone:
    """A step of labour as the owner reads it: `Alignment`, with what was done. No prices: the invoice has those."""

    step: str
    text: str = ""


@dataclass(frozen=True, slots=True)
class JobSummary:
    """`in_plain_words` are short paragraphs. `parts_total` is the fold over the log that the invoice's parts total is, too.

    `returned_unsafe` says how the set was disabled if it goes back without a passed check, else it is empty.
    """

    letterhead: Letterhead
    job_number: str
    customer: Party
    radio: SetFacts
    fault: str
    goal: str
    taken_in_on: date
    written_on: date
    in_plain_words: tuple[str, ...]
    components: tuple[ComponentRow, ...]
    parts_total: Money
    work: tuple[WorkDone, ...] = ()
    wiring: tuple[Finding, ...] = ()
    left_alone: tuple[LeftAlone, ...] = ()
    safety: SafetyFacts | None = None
    soaks: tuple[SoakFacts, ...] = ()
    cautions: tuple[str, ...] = ()
    overrides: tuple[OverrideNote, ...] = ()
    not_charged: tuple[NotCharged, ...] = ()
    old_parts_returned: tuple[Counted, ...] = ()
    returned_unsafe: str = ""
    invoice_number: str = ""
    signed_by: str = ""


COMPONENT_COLUMNS = (
    Column("position", 14, bold=True),
    Column("role", 21),
    Column("called for", 21),
    Column("found", 20),
    Column("measured", 17),
    Column("verdict", 20),
    Column("decision", 16),
    Column("fitted"),
    Column("price", 18, "right"),
)
OVERRIDE_COLUMNS = (
    Column("position", 16, bold=True),
    Column("what was fitted"),
    Column("reason", 50),
    Column("fitted by, second person", 46),
)


def _head(data: JobSummary) -> Heading:
    locale = data.letterhead.locale
    bill = f" Invoice {data.invoice_number}." if data.invoice_number else ""
    days = f"Taken in on {show_day(data.taken_in_on, locale)}, written on {show_day(data.written_on, locale)}."
    return Heading("Job summary", data.job_number, days + bill)


def _components(data: JobSummary, room: float) -> list[Flowable]:
    locale = data.letterhead.locale
    rows = [
        (
            row.position,
            row.role,
            row.called,
            row.found,
            row.measured,
            verdict_mark(row.verdict),
            row.decision,
            row.fitted,
            show_sum(row.price, locale),
        )
        for row in data.components
    ]
    total = (*[""] * 7, say("Parts total", 8, bold=True), say(show_sum(data.parts_total, locale), 8, True, "right"))
    return [table(COMPONENT_COLUMNS, [*rows, total], room, strong_last=1)]


def override_rows(notes: Sequence[OverrideNote], locale: str) -> list[tuple[str, ...]]:
    """Rows of `OVERRIDE_COLUMNS`."""
    return [
        (
            note.position,
            note.what,
            note.reason,
            f"{note.fitted_by}\nsecond: {note.second_person}\n{show_moment(note.made_at, locale)}",
        )
        for note in notes
    ]


def _overrides(data: JobSummary, room: float) -> list[Flowable]:
    rows = override_rows(data.overrides, data.letterhead.locale)
    words = "These parts depart from the rule for their position. Two people judged it right, for the reason given:"
    return [say(words, 8.5, after=3), table(OVERRIDE_COLUMNS, rows, room)]


def soak_words(soak: SoakFacts, locale: str) -> str:
    note = f" {soak.note}" if soak.note else ""
    lasted = f"{show_lasting(soak.minutes)} on the bench from {show_moment(soak.started_at, locale)}"
    return f"{passed_mark(soak.passed)}: {lasted}.{note}"


def _safety(data: JobSummary, room: float) -> list[Flowable]:
    if data.safety is None:
        return [say("No electrical safety check is on record for this job.", 9, bold=True)]
    words = f"{passed_mark(data.safety.passed)}: electrical safety check"
    made = safety_circumstances(data.safety, room, data.letterhead.locale)
    return [say(words, 10, bold=True, after=2), made, space(1.5), safety_readings(data.safety, room)]


def _proofs(data: JobSummary, section: Sections, room: float) -> list[Flowable]:
    soaks = [soak_words(soak, data.letterhead.locale) for soak in data.soaks]
    return [
        *section("Electrical safety", _safety(data, room)),
        *(section("Soak", points(soaks, 9)) if soaks else []),
    ]


def _findings(data: JobSummary, section: Sections, room: float) -> list[Flowable]:
    wiring = [(finding.where, finding.text) for finding in data.wiring]
    alone = [(item.what, item.why) for item in data.left_alone]
    free = [(line.position, line.what, line.reason) for line in data.not_charged]
    where = (Column("where", 20, bold=True), Column("found wired otherwise than the schematic"))
    why = (Column("left as it was", 66, bold=True), Column("why"))
    not_charged = (Column("position", 16, bold=True), Column("part or work"), Column("why it is not charged", 72))
    return [
        *(section("Wiring findings", [table(where, wiring, room)]) if wiring else []),
        *(section("What we left alone", [table(why, alone, room)]) if alone else []),
        *(section("Overrides", _overrides(data, room)) if data.overrides else []),
        *(section("Not charged", [table(not_charged, free, room)]) if free else []),
    ]


def _opening(data: JobSummary, section: Sections) -> list[Flowable]:
    told = [say(text, 9.5, after=4, limit=2000) for text in data.in_plain_words]
    work = [f"{step.step}: {step.text}" if step.text else step.step for step in data.work]
    fault = [*own_words(data.fault), say(f"What it was to become: {data.goal}", 8.5, limit=200)]
    return [
        *section("What you told us", fault),
        *(section("What we found and did", told) if told else []),
        *(section("Work done", points(work)) if work else []),
    ]


def _warnings(data: JobSummary, section: Sections, room: float) -> list[Flowable]:
    unsafe = f"RETURNED UNSAFE, DISABLED. {data.returned_unsafe}" if data.returned_unsafe else ""
    words = [text for text in (unsafe, *data.cautions) if text]
    return section("Before you switch it on", [cautions(words, room)]) if words else []


def _close(data: JobSummary, section: Sections, room: float) -> list[Flowable]:
    returned = [(str(part.count), part.what) for part in data.old_parts_returned]
    columns = (Column("count", 14, "right", bold=True), Column("what"))
    signatures = SignHere((f"For {data.letterhead.shop_name}: {data.signed_by}", "Received by", "Date"))
    if not returned:
        return [signatures]
    return section("Old parts returned with the set", [table(columns, returned, room), signatures], keep=len(returned) <= 12)


def draw(data: JobSummary) -> bytes:
    """The job summary as a PDF."""
    room, heading, section = room_on(data.letterhead.paper), _head(data), Sections()
    story = [
        *paper_head(data.letterhead, heading),
        *owner_and_set(data.letterhead, data.customer, data.radio),
        *_warnings(data, section, room),
        *_opening(data, section),
        *section("Position by position", _components(data, room)),
        *_findings(data, section, room),
        *_proofs(data, section, room),
        *_close(data, section, room),
    ]
    return build(data.letterhead, heading, story)
