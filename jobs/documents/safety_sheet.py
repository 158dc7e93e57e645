"""The safety sheet: the readings of one electrical safety check against their limits."""

from dataclasses import dataclass

from reportlab.platypus import KeepTogether, Table

from jobs.documents.blocks import owner_and_set, safety_circumstances, safety_readings
from jobs.documents.facts import SafetyFacts, SetFacts
from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, SignHere, cautions, notice, paper_head, space
from shop.paper.frame import Heading, build, room_on


@dataclass(frozen=True, slots=True)
class SafetySheet:
    letterhead: Letterhead
    job_number: str
    customer_name: str
    radio: SetFacts
    safety: SafetyFacts
    cautions: tuple[str, ...] = ()


PASSED_WORDS = "Every reading above stayed inside its limit."
FAILED_WORDS = "Do not use this set. Keep it unplugged and away from others until it has been made safe and checked again."
CODES_WORDS = "Local electrical codes and licensed practice go before anything written here."


def _result(safety: SafetyFacts, room: float) -> Table:
    if safety.passed:
        return notice(f"{PASSED_WORDS} {CODES_WORDS}", room, "✓ PASSED")
    return cautions((f"✗ FAILED. {FAILED_WORDS}", CODES_WORDS), room)


def draw(data: SafetySheet) -> bytes:
    """The safety sheet as a PDF."""
    room, section, safety = room_on(data.letterhead.paper), Sections(), data.safety
    heading = Heading("Electrical safety sheet", data.job_number, f"Result: {'passed' if safety.passed else 'FAILED'}.")
    story = [
        *paper_head(data.letterhead, heading),
        *owner_and_set(data.letterhead, Party(data.customer_name), data.radio),
        *section("How it was tested", [safety_circumstances(safety, room, data.letterhead.locale)]),
        *section("Readings", [safety_readings(safety, room)]),
        *(section("Cautions", [cautions(data.cautions, room)]) if data.cautions else []),
        KeepTogether([_result(safety, room), space(4), SignHere((f"Tested by: {safety.made_by}", "Date"))]),
    ]
    return build(data.letterhead, heading, story)
