"""Writes a voltage measured under power: at a point of a valve, or across a part."""

from decimal import Decimal

from django.db import transaction

from inventory.components.notation import NotationError, read_notation
from jobs.models import EntryKind, LogEntry, Point, Position
from jobs.queries.voltages import points_of
from jobs.services.log.writing import Author, ambiguous, append, check_text, correcting, locked
from shop.acts import Refused

# Beyond it the decimal point slipped: no set for the home has more.
MOST_VOLTS = 5000


@transaction.atomic
def record_voltage(
    position: Position, point: str, text: str, author: Author, *, note: str = "", corrects: LogEntry | None = None
) -> LogEntry:
    """A meter's volts at a point, kept as typed. A bare number is volts; one with a minus sign is below the chassis or B-."""
    job, state = locked(position, author)
    if point not in points_of(state.role):
        raise Refused("Choose from the list where the voltage was measured.", field="point")
    cleaned = check_text(text, "voltage", "what the meter reads")
    return append(
        job,
        position=position,
        kind=EntryKind.VOLTAGE,
        corrects=correcting(state, corrects, (EntryKind.VOLTAGE,)),
        point=Point(point),
        text=cleaned,
        value_si=float(_read(cleaned)),
        note=note.strip()[:300],
        at=author.at,
        person=author.person,
    )


def _read(text: str) -> Decimal:
    try:
        volts = read_notation(text.removeprefix("+"), "voltage").value
    except NotationError as error:
        if error.code == "ambiguous":
            raise ambiguous(error, "voltage") from error
        raise Refused(error.message, field="voltage", code=error.code) from error
    if abs(volts) > MOST_VOLTS:
        raise Refused(f"No such set has {text}. Check the decimal point and the unit.", field="voltage", code="out_of_range")
    return volts
