"""Writers of reforming runs: start, reading, correction, end. Readings are appended, never changed."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from inventory.components.answers import milliamps_text
from inventory.components.notation import NotationError, Spec, read_measured, read_notation
from inventory.models import Lot
from jobs.bench.heat import said
from jobs.bench.leakage import USUAL_RULE
from jobs.bench.problems import BenchError
from jobs.bench.reforming import advise
from jobs.models import Position, Reforming, ReformOutcome, ReformReading, Verdict
from jobs.queries.reforming import Run, decimal, open_run_of, run_of
from jobs.services.log import Author, record_measured
from jobs.services.log.writing import ambiguous
from jobs.services.stages import log_job
from shop.acts import Refused, Stale
from shop.models import Staff

# No meter used for this shows more, and no set for the home has it.
MOST_VOLTS, MOST_AMPS = 2000, 1
OUTCOME_VERDICTS = {ReformOutcome.SOUND: Verdict.WITHIN, ReformOutcome.LEAKY: Verdict.LEAKY}


@dataclass(frozen=True, slots=True)
class Setup:
    """What is connected: the capacitor as marked (one section of a can), the series resistor, the rule for the limit."""

    marking: str
    series: str = ""
    rule: str = USUAL_RULE
    note: str = ""


@dataclass(frozen=True, slots=True)
class Typed:
    """A reading as typed. `leak` in milliamps unless it says another unit; volts mean the drop over the series resistor."""

    volts: str
    leak: str
    note: str = ""


@transaction.atomic
def start(of: Position | Lot, setup: Setup, *, person: Staff, at: datetime) -> Reforming:
    """Begin a run on the capacitor of a position, or on one of a lot. One open run a position."""
    position, lot = (of, None) if isinstance(of, Position) else (None, of)
    if position is not None:
        log_job(position.job)
        if open_run_of(position) is not None:
            raise Stale(f"A run on {position.designator} is open already. Go on with it, or end it first.")
    spec = _capacitor(setup.marking)
    ohms = _series(setup.series)
    try:
        advise(spec.value, spec.volts or Decimal(0), setup.rule, ohms)
    except BenchError as error:
        raise Refused(error.message, field="rule" if error.code == "unknown" else "marking") from error
    return Reforming.objects.create(
        position=position,
        lot=lot,
        marking=setup.marking.strip()[:80],
        farads=float(spec.value),
        rated_volts=float(spec.volts or 0),
        series_ohms=None if ohms is None else float(ohms),
        rule=setup.rule,
        note=setup.note.strip()[:300],
        started_at=at,
        started_by=person,
    )


def _capacitor(text: str) -> Spec:
    try:
        spec = read_notation(text, "capacitance")
    except NotationError as error:
        raise (ambiguous(error, "marking") if error.code == "ambiguous" else Refused(error.message, field="marking")) from error
    if spec.sections:
        raise Refused("A can is reformed one section at a time. Give the section's own value, like 20 µF 450 V.", field="marking")
    if spec.volts is None:
        raise Refused("Give its rated voltage too, like 20 µF 450 V: the leakage limit depends on it.", field="marking")
    return spec


def _series(text: str) -> Decimal | None:
    if not text.strip():
        return None
    try:
        return read_measured(text, "resistance").value
    except NotationError as error:
        raise (ambiguous(error, "series") if error.code == "ambiguous" else Refused(error.message, field="series")) from error


def _locked(run: Reforming, seen: int | None) -> Run:
    """The run under its row lock, open, and as the person saw it."""
    current = Reforming.objects.select_for_update().get(pk=run.pk)
    found = run_of(current)
    if current.ended_at is not None:
        raise Stale(f"This run was ended by {current.ended_by}. Start another one if the part is tried again.")
    if seen is not None and seen != current.version:
        last = f" The last reading is {found.readings[-1]}." if found.readings else ""
        raise Stale(f"This run has grown since you opened it.{last} What you typed is still here: look, then send it again.")
    return found


@transaction.atomic
def add_reading(
    run: Reforming, typed: Typed, *, person: Staff, at: datetime, seen: int | None = None, corrects: ReformReading | None = None
) -> ReformReading:
    """Write down volts across the capacitor and its leakage; with `corrects` in place of an earlier reading."""
    found = _locked(run, seen)
    volts = _volts(typed.volts)
    amps = _amps(typed.leak, found.reforming)
    return _append(found, volts, amps, typed.note, person, at, corrects=_standing(found, corrects))


@transaction.atomic
def withdraw_reading(
    run: Reforming, reading: ReformReading, *, person: Staff, at: datetime, why: str = "", seen: int | None = None
) -> ReformReading:
    """Take a reading back: a new row that names it."""
    found = _locked(run, seen)
    _standing(found, reading)
    volts, amps = decimal(reading.volts), decimal(reading.leak_amps)
    return _append(found, volts, amps, why, person, at, corrects=reading, withdrawn=True)


def _standing(found: Run, corrects: ReformReading | None) -> ReformReading | None:
    if corrects is not None and all(corrects.pk != one.pk for one in found.standing_readings):
        raise Stale("This reading isn't one of the run's, or was corrected or taken back already. Choose it in the table below.")
    return corrects


def _append(
    found: Run,
    volts: Decimal,
    amps: Decimal,
    note: str,
    person: Staff,
    at: datetime,
    *,
    corrects: ReformReading | None,
    withdrawn: bool = False,
) -> ReformReading:
    run = found.reforming
    run.version += 1
    run.save(update_fields=["version"])
    return ReformReading.objects.create(
        reforming=run,
        seq=found.last_seq + 1,
        volts=float(volts),
        leak_amps=float(amps),
        corrects=corrects,
        withdrawn=withdrawn,
        note=note.strip()[:200],
        at=at,
        person=person,
    )


def _volts(text: str) -> Decimal:
    volts = _read(text, "voltage", "volts")
    if not 0 <= volts <= MOST_VOLTS:
        raise Refused("The volts across the capacitor lie between 0 and 2000, plus to plus.", field="volts")
    return volts


def _amps(text: str, run: Reforming) -> Decimal:
    cleaned = text.strip()
    if cleaned[-1:].upper() == "V":
        if run.series_ohms is None:
            raise Refused("The drop tells the leakage only where the series resistor is known. Give milliamps.", field="leak")
        amps = _read(cleaned, "voltage", "leak") / decimal(run.series_ohms)
    else:
        is_bare = not any(one.isalpha() for one in cleaned)
        amps = _read(f"{cleaned} mA" if is_bare and cleaned else cleaned, "current", "leak")
    if not 0 <= amps <= MOST_AMPS:
        raise Refused("The leakage lies between 0 and 1 A. A bare number is milliamps.", field="leak")
    return amps


def _read(text: str, kind: str, field: str) -> Decimal:
    try:
        return read_measured(text, kind).value
    except NotationError as error:
        raise (ambiguous(error, field) if error.code == "ambiguous" else Refused(error.message, field=field)) from error


@transaction.atomic
def end(
    run: Reforming,
    outcome: str,
    *,
    person: Staff,
    at: datetime,
    note: str = "",
    seen: int | None = None,
    log_seen: int | None = None,
) -> Reforming:
    """End a run. What it came to is a reading in the position's log, written in the same transaction.

    An outcome that the readings contradict needs a reason.
    """
    found = _locked(run, seen)
    if outcome not in ReformOutcome.values:
        raise Refused("Say what it came to.", field="outcome")
    _check_outcome(found, outcome, note)
    current = found.reforming
    current.ended_at, current.ended_by, current.outcome = at, person, outcome
    current.note = (note.strip() or current.note)[:300]
    current.version += 1
    current.save(update_fields=["ended_at", "ended_by", "outcome", "note", "version"])
    verdict = OUTCOME_VERDICTS.get(ReformOutcome(outcome))
    if current.position is not None and verdict is not None:
        record_measured(current.position, _in_the_log(found), Author(person, at), verdict=verdict)
    return current


def _check_outcome(found: Run, outcome: str, note: str) -> None:
    if note.strip() or outcome == ReformOutcome.STOPPED:
        return
    if outcome == ReformOutcome.SOUND and not found.standing.is_sound:
        raise Refused(f"The readings don't say so yet: {found.standing.sentence} Go on, or say why it is sound.", field="note")
    if outcome == ReformOutcome.LEAKY and found.standing.is_sound:
        raise Refused(f"The readings say otherwise: {found.standing.sentence} Say why it is not to be used.", field="note")


def _in_the_log(found: Run) -> str:
    """`0.4 mA at 450 V after reforming`: read as a leakage by whoever judges it again."""
    if not found.taken:
        return "leakage judged without a reading"
    last = found.taken[-1]
    return f"{milliamps_text(last.amps)} at {said(last.volts, 'voltage', 4)}"
