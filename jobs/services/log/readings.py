"""Writes what was found and what the meter reads, each with its judgement."""

from django.db import transaction

from inventory.components.notation import NotationError, Spec, read_measured, read_notation
from inventory.components.roles import role as role_of
from jobs.bench.verdicts import Judgement, judge
from jobs.models import EntryKind, LogEntry, Position, Verdict
from jobs.queries.practices import practice_for
from jobs.queries.sheet import PositionState
from jobs.services.log.writing import Author, ambiguous, append, check_text, correcting, locked, profile
from shop.acts import Refused


@transaction.atomic
def record_found(position: Position, text: str, author: Author, *, corrects: LogEntry | None = None) -> LogEntry:
    """What was really in there. A marked value that is far from the one called for makes it a wrong part."""
    job, state = locked(position, author)
    cleaned = check_text(text, "found", "what was found")
    spec = _read(cleaned, position.role)
    judgement = _judge_found(state, spec, cleaned)
    return append(
        job,
        position=position,
        kind=EntryKind.FOUND,
        corrects=correcting(state, corrects, (EntryKind.FOUND,)),
        text=cleaned,
        value_si=float(spec.value) if spec else None,
        verdict=judgement[0],
        reasons=judgement[1],
        at=author.at,
        person=author.person,
    )


def _read(text: str, role: str) -> Spec | None:
    """A found value may be words ("rubber-cased, unmarked"), so an unreadable one is kept as text; an ambiguous one is asked."""
    kind = role_of(role).kind
    if kind not in ("resistance", "capacitance", "inductance"):
        return None
    try:
        return read_notation(text, kind)
    except NotationError as error:
        if error.code == "ambiguous":
            raise ambiguous(error, "found") from error
        return None


def _judge_found(state: PositionState, spec: Spec | None, text: str) -> tuple[str, str]:
    """A part is the wrong one when its marked value is not the called-for value within the shop's practice."""
    called = state.called_spec
    if called is None or spec is None:
        return "", ""
    judgement = judge(called, spec, practice_percent=practice_for(state.position.job, state.role, profile()))
    if judgement.verdict == Verdict.WITHIN:
        return "", ""
    return Verdict.WRONG_PART, f"It is marked {text}; {state.called} is called for."


@transaction.atomic
def record_measured(
    position: Position,
    text: str,
    author: Author,
    *,
    in_circuit: bool = False,
    verdict: str = "",
    corrects: LogEntry | None = None,
) -> LogEntry:
    """The meter's reading with its verdict. A verdict given by hand (a valve tester, a click of the tongue) is kept as given."""
    job, state = locked(position, author)
    cleaned = check_text(text, "measured", "what the meter reads")
    if verdict and verdict not in Verdict.values:
        raise Refused("Choose a verdict from the list.", field="verdict")
    value, judgement = _judge_reading(state, cleaned, in_circuit, by_hand=bool(verdict))
    deviation = judgement.deviation_percent
    return append(
        job,
        position=position,
        kind=EntryKind.MEASURED,
        corrects=correcting(state, corrects, (EntryKind.MEASURED,)),
        text=cleaned,
        value_si=value,
        in_circuit=in_circuit,
        verdict=verdict or judgement.verdict,
        deviation_bp=None if deviation is None else max(min(round(deviation * 100), 2_000_000_000), -2_000_000_000),
        reasons="\n".join([*judgement.reasons, *(["The verdict was given by hand."] if verdict else [])]),
        at=author.at,
        person=author.person,
    )


def _judge_reading(state: PositionState, text: str, in_circuit: bool, *, by_hand: bool) -> tuple[float | None, Judgement]:
    kind = role_of(state.role).kind
    if kind not in ("resistance", "capacitance", "inductance", "winding", "valve"):
        return None, Judgement(Verdict.NOT_MEASURED, None, None, ())
    kind = "resistance" if kind in ("winding", "valve") else kind
    practice = practice_for(state.position.job, state.role, profile())
    # Where a value is called for, a reading may be of another kind: a capacitor's leakage in ohms or milliamps.
    unstated = kind if state.called_spec is None else None
    try:
        judgement = judge(
            state.called_spec, text, practice_percent=practice, in_circuit=in_circuit, kind=unstated, role=state.role
        )
    except NotationError as error:
        if error.code == "ambiguous":
            raise ambiguous(error, "measured") from error
        if not by_hand:
            raise Refused(error.message, field="measured", code=error.code) from error
        return None, Judgement(Verdict.NOT_MEASURED, None, None, ())
    return _reading_value(text, kind), judgement


def _reading_value(text: str, kind: str) -> float | None:
    try:
        return float(read_measured(text, kind).value)
    except NotationError:
        return None
