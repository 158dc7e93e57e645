"""The safety sheet of a job: what may hurt, what stands at the line, what was read against which limit, how the set left.

Without a check it has lines to fill in by hand; what counts is what is then written into the log.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.platypus import Flowable, KeepTogether

from jobs.documents.blocks import BLANK, owner_and_set, readings_to_take, safety_circumstances, safety_readings
from jobs.documents.facts import LinePosition, LookFacts, ReadingToTake, ReleaseFacts, SafetyFacts, SetFacts
from jobs.documents.summary import OVERRIDE_COLUMNS, OverrideNote, SoakFacts, override_rows, soak_words
from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, SignHere, cautions, notice, paper_head, points, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.marks import Mark
from shop.paper.tables import Column, facts, say, table
from shop.paper.wording import show_moment

PASSED_WORDS = "Every reading above stayed inside its limit."
FAILED_WORDS = "Do not use this set. Keep it unplugged and away from others until it has been made safe and checked again."
VOID_WORDS = "The circuit was changed after this check, so it holds no longer. Make it again before the set is used."
CODES_WORDS = "Local electrical codes and licensed practice go before anything written here."
NOT_MADE_WORDS = (
    "No check is on record. Take these readings, then write them into the job: only a check that stands there lets the set go."
)
NO_PLACE_WORDS = (
    "The list names no position across the line or from the line to the chassis. Look for one that the service data doesn't show."
)
NO_LOOK_WORDS = "Not signed yet. These points are open:"
NO_POINT_WORDS = "Not signed yet. No point is open."
UNSAFE_WORDS = "I have been told that this set is unsafe, and how it was disabled."
OVERRIDE_WORDS = "These parts depart from the rule for their position. Two people judged it right, for the reason given:"
SIGNS = {"yes": Mark.SOUND, "warn": Mark.CAUTION, "no": Mark.FAILED, "open": Mark.UNKNOWN}
PLACE_COLUMNS = (
    Column("position", 16, bold=True),
    Column("where", 34),
    Column("called for", 30),
    Column("needs", 20),
    Column("in the set now"),
    Column("class", 15, bold=True),
    Column("so it stands", 28, bold=True),
)


@dataclass(frozen=True, slots=True)
class SafetySheet:
    """`safety` is the check, None where none is made: `to_take` are then the readings it needs, by `practice`.

    `open_points` are what a second look would have to go through. `holds`: nothing was changed after the check.
    """

    letterhead: Letterhead
    job_number: str
    customer_name: str
    radio: SetFacts
    safety: SafetyFacts | None
    cautions: tuple[str, ...] = ()
    holds: bool = True
    practice: str = ""
    to_take: tuple[ReadingToTake, ...] = ()
    line_positions: tuple[LinePosition, ...] = ()
    overrides: tuple[OverrideNote, ...] = ()
    look: LookFacts | None = None
    open_points: tuple[str, ...] = ()
    soaks: tuple[SoakFacts, ...] = ()
    soak_wanted: str = ""
    release: ReleaseFacts | None = None


def result_words(data: SafetySheet) -> str:
    if data.safety is None:
        return "Not checked yet: to be filled in by hand."
    if not data.safety.passed:
        return "Result: FAILED."
    return "Result: passed." if data.holds else "Result: passed, and void since."


def _result(data: SafetySheet, room: float) -> Flowable:
    if data.safety is None:
        return notice(f"{NOT_MADE_WORDS} {CODES_WORDS}", room, Mark.UNKNOWN.said("NOT CHECKED YET"))
    if not data.safety.passed:
        return cautions((f"✗ FAILED. {FAILED_WORDS}", CODES_WORDS), room)
    if not data.holds:
        return cautions((f"✗ VOID. {VOID_WORDS}", CODES_WORDS), room)
    return notice(f"{PASSED_WORDS} {CODES_WORDS}", room, "✓ PASSED")


def _places(data: SafetySheet, room: float) -> list[Flowable]:
    if not data.line_positions:
        return [say(NO_PLACE_WORDS, 9)]
    rows = [
        (
            one.position,
            one.place,
            one.called,
            one.needed,
            one.fitted,
            one.safety_class or "–",
            SIGNS[one.sign].said(one.standing),
        )
        for one in data.line_positions
    ]
    return [table(PLACE_COLUMNS, rows, room)]


def _overrides(data: SafetySheet, room: float) -> list[Flowable]:
    rows = override_rows(data.overrides, data.letterhead.locale)
    return [say(OVERRIDE_WORDS, 8.5, after=3), table(OVERRIDE_COLUMNS, rows, room)]


def _look(data: SafetySheet, room: float) -> list[Flowable]:
    """What was accepted by name, or what is open, each with a box to tick."""
    if data.look is None:
        head = say(NO_LOOK_WORDS if data.open_points else NO_POINT_WORDS, 9, after=2)
        return [head, *points(data.open_points, bullet="☐"), SignHere(("Looked over by", "Date"))]
    look = data.look
    made = f"Signed {show_moment(look.made_at, data.letterhead.locale)} by {look.made_by}."
    void = "" if look.holds else " The circuit was changed since: look it over again."
    note = f" {look.note}" if look.note else ""
    return [say(made + void + note, 9, bold=not look.holds, after=2), *points(look.points, bullet="☒")]


def _check(data: SafetySheet, section: Sections, room: float) -> list[Flowable]:
    if data.safety is None:
        pairs = (
            ("practice", data.practice),
            ("instrument", BLANK * 3),
            ("isolating transformer", "☐ yes, behind one   ☐ no, straight from the line"),
            ("protective earth", "☐ the set has one   ☐ the set has none"),
        )
        how: Sequence[Flowable] = [facts(pairs, room, 38)]
        return [*section("How it is tested", how), *section("Readings to take", [readings_to_take(data.to_take, room)])]
    how = [safety_circumstances(data.safety, room, data.letterhead.locale)]
    return [*section("How it was tested", how), *section("Readings", [safety_readings(data.safety, room)])]


def _tested(data: SafetySheet, room: float) -> Flowable:
    by = f"Tested by: {data.safety.made_by}" if data.safety else "Tested by"
    return KeepTogether([_result(data, room), space(2), SignHere((by, "Date")), space(3)])


def _soak(data: SafetySheet) -> list[Flowable]:
    done = [soak_words(soak, data.letterhead.locale) for soak in data.soaks]
    wanted = f"The shop's rule: {data.soak_wanted} without a fault. " if data.soak_wanted else ""
    if done:
        return [*([say(wanted, 9, after=2)] if wanted else []), *points(done, 9)]
    return [say(f"{wanted}From {BLANK} to {BLANK}   ☐ without a fault   ☐ with a fault: {BLANK * 2}", 9)]


def _release(data: SafetySheet, room: float) -> list[Flowable]:
    """How the set leaves: one of two ways, each signed by whom it concerns."""
    shop, gone = data.letterhead.shop_name, data.release
    proven = "☒" if gone and not gone.unsafe else "☐"
    unsafe = "☒" if gone and gone.unsafe else "☐"
    how = f"How: {BLANK * 3}" if gone is None else gone.how_disabled if gone.unsafe else ""
    when = f"Given out {show_moment(gone.at, data.letterhead.locale)}." if gone else ""
    by = f": {gone.given_by}" if gone else ""
    to = f": {gone.received_by}" if gone else ""
    return [
        say(f"{proven} Released: proven safe and working.", 9.5, bold=proven == "☒", after=1),
        *([] if unsafe == "☒" else [SignHere((f"For {shop}{by}", f"Received by{to}", "Date"))]),
        say(f"{unsafe} RETURNED UNSAFE, DISABLED. {how}", 9.5, bold=unsafe == "☒", limit=400, after=1),
        *([] if proven == "☒" else [say(UNSAFE_WORDS, 8.5), SignHere((f"For {shop}{by}", f"Owner{to}", "Date"))]),
        *([say(when, 8.5)] if when else []),
    ]


def draw(data: SafetySheet) -> bytes:
    """The safety sheet as a PDF."""
    room, section = room_on(data.letterhead.paper), Sections()
    heading = Heading("Safety sheet", data.job_number, result_words(data))
    story = [
        *paper_head(data.letterhead, heading),
        *owner_and_set(data.letterhead, Party(data.customer_name), data.radio),
        *(section("Cautions", [cautions(data.cautions, room)]) if data.cautions else []),
        *section("Places at the line", _places(data, room)),
        *(section("Overrides", _overrides(data, room)) if data.overrides else []),
        *section("Second look", _look(data, room)),
        *_check(data, section, room),
        _tested(data, room),
        *section("Soak", _soak(data)),
        *section("How the set leaves", _release(data, room), keep=True),
    ]
    return build(data.letterhead, heading, story)
