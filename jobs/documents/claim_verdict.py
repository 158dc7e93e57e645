"""What was decided on a claim, and why: for the customer to keep."""

from dataclasses import dataclass
from datetime import date

from reportlab.platypus import Flowable, KeepTogether

from jobs.documents.blocks import owner_and_set
from jobs.documents.facts import SetFacts
from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, SignHere, notices, paper_head, points, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.tables import Column, facts, say, table
from shop.paper.wording import show_day

LEVELS = {"for": "for cover", "against": "against", "open": "open", "note": "to know"}
NOTHING_FOUND = "Nothing was written down as found."
IF_IN_DOUBT = (
    "If you see it otherwise, tell us what we have missed: we look at it again, and a new decision takes the place of this one. "
    "Your rights by law stand beside this decision; it doesn't shorten them."
)


@dataclass(frozen=True, slots=True)
class VerdictReason:
    """`level` is for, against, open or note."""

    level: str
    sentence: str


@dataclass(frozen=True, slots=True)
class VerdictFinding:
    position: str
    text: str
    reasons: tuple[VerdictReason, ...]


@dataclass(frozen=True, slots=True)
class BorneLine:
    """`share` is what the shop bears at a position, or of the work."""

    place: str
    share: str


@dataclass(frozen=True, slots=True)
class ClaimVerdict:
    """`answer` in words; `why` where it was decided otherwise than proposed or as goodwill."""

    letterhead: Letterhead
    customer: Party
    radio: SetFacts
    job_number: str
    earlier_number: str
    claimed_on: date
    decided_on: date
    answer: str
    findings: tuple[VerdictFinding, ...]
    general: tuple[str, ...] = ()
    borne: tuple[BorneLine, ...] = ()
    why: str = ""
    goodwill: bool = False
    signed_by: str = ""


FINDING_COLUMNS = (
    Column("position", 18, bold=True),
    Column("what was found, and what it means for the warranty"),
    Column("", 24),
)
BORNE_COLUMNS = (Column("at"), Column("the shop bears", 40, "right", bold=True))


def _found(data: ClaimVerdict, room: float) -> list[Flowable]:
    """A row a finding, then a row for each of its reasons with the side it speaks for."""
    rows: list[tuple[str, str, str]] = []
    for one in data.findings:
        rows.append((one.position or "the set", one.text, ""))
        rows += [("", reason.sentence, LEVELS.get(reason.level, reason.level)) for reason in one.reasons]
    return [table(FINDING_COLUMNS, rows, room)] if rows else [say(NOTHING_FOUND)]


def _decided(data: ClaimVerdict, room: float) -> list[Flowable]:
    locale = data.letterhead.locale
    pairs = (
        ("claimed on", show_day(data.claimed_on, locale)),
        ("under the warranty of", f"job {data.earlier_number}"),
        ("decided on", show_day(data.decided_on, locale)),
        ("decided", f"{data.answer}, as goodwill beyond what is owed" if data.goodwill else data.answer),
        ("because", data.why),
    )
    borne = [(line.place, line.share) for line in data.borne]
    return [facts(pairs, room, 38, limit=400), *([space(2), table(BORNE_COLUMNS, borne, room)] if borne else [])]


def draw(data: ClaimVerdict) -> bytes:
    """The decision as a PDF."""
    room, section = room_on(data.letterhead.paper), Sections()
    said = f"Claim under the warranty of job {data.earlier_number}."
    heading = Heading("What we decided, and why", data.job_number, said)
    story = [
        *paper_head(data.letterhead, heading),
        *owner_and_set(data.letterhead, data.customer, data.radio),
        *section("The decision", _decided(data, room), keep=True),
        *section("What was found", _found(data, room)),
        *(section("What the warranty says", points(data.general)) if data.general else []),
        KeepTogether(
            [
                *notices((("If you see it otherwise", IF_IN_DOUBT),), room),
                SignHere((f"For {data.letterhead.shop_name}: {data.signed_by}", "Date")),
            ]
        ),
    ]
    return build(data.letterhead, heading, story)
