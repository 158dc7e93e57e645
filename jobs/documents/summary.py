"""The job summary: what was found, done and left alone, in plain words, for the owner of the set to keep."""

from dataclasses import dataclass
from datetime import date, datetime

from moneyed import Money

from jobs.documents.facts import Counted, SafetyFacts, SetFacts
from shop.paper import Letterhead, Party


@dataclass(frozen=True, slots=True)
class ComponentRow:
    """One position as the log leaves it, in circuit order. `price` is None where nothing was fitted; a fitted part that is not
    charged has a price of 0 and its reason among `JobSummary.not_charged`. `verdict` is a label: `within tolerance`, `open`, ..."""

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
