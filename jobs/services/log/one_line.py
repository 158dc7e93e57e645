"""Writes what one typed line says, takes it back again, and foresees how it would be judged."""

from dataclasses import dataclass, replace

from django.db import transaction

from inventory.components.writing import write_spec
from jobs.bench.one_line import Line
from jobs.models import Decision, Job, LogEntry, Position, Verdict
from jobs.queries.sheet import PositionState, position_state
from jobs.services.log.deciding import decide
from jobs.services.log.readings import judge_found, judge_reading, record_found, record_measured
from jobs.services.log.remarks import withdraw
from jobs.services.log.writing import Ambiguous, Author, check_text
from shop.acts import Refused, Stale

# Stands in the log where a verdict was given and no meter was read.
BY_HAND = "judged by hand"
MOST_A_LINE = 3


@dataclass(frozen=True, slots=True)
class Foreseen:
    """How a line is read: what would be written, and the verdicts it would get. `trouble` says why it would be refused.

    `asked` are (line part, reading, why): a value that can be read in more than one way.
    """

    position: Position
    found: str = ""
    found_verdict: str = ""
    found_said: str = ""
    reading: str = ""
    verdict: str = ""
    said: str = ""
    asked: tuple[tuple[str, str, str], ...] = ()
    trouble: str = ""


def spelled_out(state: PositionState, line: Line) -> Line:
    """The line with the signs for “as called for” put into words; Refused where nothing is called for that could be meant."""
    found = _called(state) if line.found_as_called else line.found
    reading = _called_value(state) if line.reads_as_called else line.reading
    if line.verdict and not reading:
        reading = BY_HAND
    return replace(line, found=found, found_as_called=False, reading=reading, reads_as_called=False)


def _called(state: PositionState) -> str:
    if not state.called:
        raise Refused(f"Nothing is called for at {state.position.designator}. Write what was found in words or figures.")
    return state.called


def _called_value(state: PositionState) -> str:
    spec = state.called_spec
    if spec is None:
        raise Refused(f"No value is called for at {state.position.designator}. Write what the meter reads.")
    return write_spec(replace(spec, tolerance_percent=None, volts=None, watts=None, safety_class=None))


@transaction.atomic
def write_line(position: Position, line: Line, author: Author) -> list[LogEntry]:
    """Found, measured and decision in that order, all or nothing."""
    meant = spelled_out(position_state(position), line)
    if meant.is_only_a_place:
        raise Refused("The line names a position and nothing to write there. Add what was found, a reading or a letter.")
    written = [record_found(position, meant.found, author)] if meant.found else []
    if meant.reading:
        circuit, verdict = meant.in_circuit, meant.verdict
        written.append(record_measured(position, meant.reading, author, in_circuit=circuit, verdict=verdict))
    if meant.decision:
        written.append(decide(position, meant.decision, author, why=meant.why))
    return written


@transaction.atomic
def take_back_line(job: Job, first: int, last: int, author: Author) -> list[LogEntry]:
    """Take back the entries from number `first` to `last`: what one person wrote on one position with one line."""
    entries = list(job.entries.filter(seq__range=(first, last)).order_by("-seq")[: MOST_A_LINE + 1])  # type: ignore[attr-defined]
    one_line = len({(entry.position_id, entry.at) for entry in entries}) == 1 and len(entries) <= MOST_A_LINE
    if not one_line or any(entry.person_id != author.person.pk for entry in entries):
        raise Stale("That isn't your last line any more. The position's history shows what was written there since.")
    return [withdraw(entry, author) for entry in entries]


def foresee(position: Position, line: Line) -> Foreseen:
    """How the line is read, without writing anything."""
    state, seen = position_state(position), Foreseen(position)
    try:
        meant = spelled_out(state, line)
        seen = _foresee_found(state, meant, seen)
        seen = _foresee_reading(state, meant, seen)
        _check_decision(state, meant, seen)
    except Ambiguous as doubt:
        return replace(seen, asked=tuple((doubt.field, text, why) for text, why in doubt.readings), trouble=doubt.message)
    except Refused as refused:
        return replace(seen, trouble=refused.message)
    return seen


def _foresee_found(state: PositionState, meant: Line, seen: Foreseen) -> Foreseen:
    if not meant.found:
        return seen
    found = check_text(meant.found, "found", "what was found")
    _, verdict, reasons = judge_found(state, found)
    return replace(seen, found=found, found_verdict=verdict, found_said=reasons.partition("\n")[0])


def _foresee_reading(state: PositionState, meant: Line, seen: Foreseen) -> Foreseen:
    if not meant.reading:
        return seen
    reading = check_text(meant.reading, "measured", "what the meter reads")
    _, judged = judge_reading(state, reading, meant.in_circuit, by_hand=bool(meant.verdict))
    said = "given by hand" if meant.verdict else next(iter(judged.reasons), "")
    return replace(seen, reading=reading, verdict=meant.verdict or judged.verdict, said=said)


def _check_decision(state: PositionState, meant: Line, seen: Foreseen) -> None:
    """Leaving a bad part in needs a reason; it is said before the line is sent."""
    found = seen.found_verdict if seen.found else (state.found.verdict if state.found else "")
    verdict = found or seen.verdict or (state.measured.verdict if state.measured else "")
    if meant.decision == Decision.KEEP and verdict not in (Verdict.WITHIN, Verdict.NOT_MEASURED, "") and not meant.why:
        label = Verdict(verdict).label
        raise Refused(f"The verdict is “{label}”. Write a space and why the part stays in: ;l still good enough")
