"""Writes what was found and what the meter reads, each with its judgement."""

from django.db import transaction

from inventory.components.notation import NotationError, Spec, read_measured, read_notation
from inventory.components.roles import role as role_of
from jobs.bench.comparing import allowed_words, band_for
from jobs.bench.verdicts import Judgement, judge
from jobs.bench.worded import judge_words, without_label
from jobs.models import EntryKind, LogEntry, Position, Verdict
from jobs.queries.practices import practice_for
from jobs.queries.sheet import PositionState
from jobs.services.log.writing import Author, ambiguous, append, check_text, correcting, locked, profile
from shop.acts import Refused

MEASURED_KINDS = ("resistance", "capacitance", "inductance", "winding", "valve")
NOT_JUDGED = Judgement(Verdict.NOT_MEASURED, None, None, ())


@transaction.atomic
def record_found(position: Position, text: str, author: Author, *, corrects: LogEntry | None = None) -> LogEntry:
    """What was really in there. A marked value that is far from the one called for makes it a wrong part."""
    job, state = locked(position, author)
    cleaned = check_text(text, "found", "what was found")
    spec, *judgement = judge_found(state, cleaned)
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


def judge_found(state: PositionState, text: str) -> tuple[Spec | None, str, str]:
    """The value, verdict and reasons of what was found: the wrong part when it isn't the called-for value within the practice."""
    called, spec = state.called_spec, _read(text, state.role)
    if called is None or spec is None:
        return spec, "", ""
    practice = practice_for(state.position.job, state.role, profile())
    if judge(called, spec, practice_percent=practice).verdict == Verdict.WITHIN:
        return spec, "", ""
    allowed = allowed_words(band_for(called, None, practice))
    return spec, Verdict.WRONG_PART, f"It is marked {text}; {state.called} is called for ({allowed})."


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
    value, judgement = judge_reading(state, cleaned, in_circuit, by_hand=bool(verdict))
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


def judge_reading(state: PositionState, text: str, in_circuit: bool, *, by_hand: bool) -> tuple[float | None, Judgement]:
    """The value in SI base units, where the reading is one, and its verdict."""
    kind = role_of(state.role).kind
    try:
        if kind not in MEASURED_KINDS:
            # A lamp, a switch, a fuse: open, short or continuous is all there is to say.
            return None, judge_words(None, text, state.role) or NOT_JUDGED
        kind = "resistance" if kind in ("winding", "valve") else kind
        judgement = _judge(state, text, kind, in_circuit)
    except NotationError as error:
        if error.code == "ambiguous":
            raise ambiguous(error, "measured") from error
        if not by_hand:
            raise Refused(error.message, field="measured", code=error.code) from error
        return None, NOT_JUDGED
    return _reading_value(text, kind), judgement


def _judge(state: PositionState, text: str, kind: str, in_circuit: bool) -> Judgement:
    # Where a value is called for, a reading may be of another kind: a capacitor's leakage in ohms or milliamps.
    unstated = kind if state.called_spec is None else None
    practice = practice_for(state.position.job, state.role, profile())
    return judge(state.called_spec, text, practice_percent=practice, in_circuit=in_circuit, kind=unstated, role=state.role)


def _reading_value(text: str, kind: str) -> float | None:
    try:
        return float(read_measured(without_label(text), kind).value)
    except NotationError:
        return None
