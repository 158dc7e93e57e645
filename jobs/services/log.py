"""The change log's only writer. Entries are appended; a correction is a new entry that names the one it corrects."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from inventory import services as stock
from inventory.components.notation import NotationError, Spec, read_notation, write_spec
from inventory.components.roles import role as role_of
from inventory.models import Drawer, Hold, Lot, Part
from inventory.pricing import unit_price_minor
from jobs.bench.verdicts import Judgement, judge
from jobs.models import Decision, EntryKind, Job, LogEntry, Position, Stage, Verdict
from jobs.queries.candidates import answer_for
from jobs.queries.exposure import exposure_of
from jobs.queries.sheet import JUDGED, PositionState, in_words, position_state
from jobs.services.stages import log_job
from shop.acts import Refused, Stale
from shop.models import Profile, Staff
from shop.money import show

FITTING_STAGES = (Stage.REPAIRING, Stage.PROVING)


@dataclass(frozen=True, slots=True)
class Author:
    """Who writes an entry and when; `seen` is the last entry of the position that they saw on their page."""

    person: Staff
    at: datetime
    seen: int | None = None


def profile() -> Profile:
    found = Profile.current()
    if found is None:
        raise Refused("The shop isn't set up yet. Fill in the shop profile first.", code="no_profile")
    return found


def _position(position: Position, author: Author) -> tuple[Job, PositionState]:
    """Lock the job, then look at the position: nobody can write to it in between."""
    job = log_job(position.job)
    state = position_state(position, JUDGED)
    _check_seen(state, author)
    return job, state


def _check_seen(state: PositionState, author: Author) -> None:
    """What others wrote since this person's page was drawn is told, so that nobody answers an entry they haven't read."""
    if author.seen is None:
        return
    others = [entry for entry in state.entries if entry.seq > author.seen and entry.person_id != author.person.pk]
    if others:
        written = "; ".join(f"{entry.person} wrote “{in_words(entry)}”" for entry in others)
        raise Stale(
            f"Since you opened {state.position.designator}, {written}. "
            "What you typed is still here: look at the new entry, then send yours again."
        )


def append(job: Job, **values: object) -> LogEntry:
    """Write one entry under the next number of the job's log. The job's row must be locked."""
    job.log_seq += 1
    job.version += 1
    job.save(update_fields=["log_seq", "version"])
    return LogEntry.objects.create(job=job, seq=job.log_seq, **values)


def _check_text(text: str, field: str, what: str, longest: int = 300) -> str:
    cleaned = " ".join(text.split())
    if not cleaned:
        raise Refused(f"Say {what}.", field=field)
    if len(cleaned) > longest:
        raise Refused(f"Keep it under {longest} characters; a longer story goes into a note or a photo.", field=field)
    return cleaned


def _correcting(state: PositionState, corrects: LogEntry | None, kinds: tuple[str, ...]) -> LogEntry | None:
    if corrects is None:
        return None
    if corrects.position_id != state.position.pk or corrects.kind not in kinds:
        raise Refused("The entry to correct isn't one of this position's. Open the position's history and choose it there.")
    if corrects.withdrawn or any(entry.corrects_id == corrects.pk for entry in state.entries):
        raise Stale("This entry was corrected or taken back already. The position's history shows by what.")
    return corrects


@transaction.atomic
def record_found(position: Position, text: str, author: Author, *, corrects: LogEntry | None = None) -> LogEntry:
    """What was really in there. A marked value that is far from the one called for makes it a wrong part."""
    job, state = _position(position, author)
    cleaned = _check_text(text, "found", "what was found")
    spec = _read(cleaned, position.role)
    judgement = _judge_found(state, spec, cleaned)
    return append(
        job,
        position=position,
        kind=EntryKind.FOUND,
        corrects=_correcting(state, corrects, (EntryKind.FOUND,)),
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


class Ambiguous(Refused):
    """A value that can be read in more than one way; `readings` are what the page offers to choose from."""

    def __init__(self, message: str, field: str, readings: tuple[tuple[str, str], ...]) -> None:
        super().__init__(message, field=field, code="ambiguous")
        self.readings = readings


def ambiguous(error: NotationError, field: str) -> Ambiguous:
    readings = tuple((write_spec(reading.spec), reading.why) for reading in error.readings)
    return Ambiguous(error.message, field, readings)


def _judge_found(state: PositionState, spec: Spec | None, text: str) -> tuple[str, str]:
    """A part is the wrong one when its marked value is not the called-for value within the shop's practice."""
    called = state.called_spec
    if called is None or spec is None:
        return "", ""
    judgement = judge(called, spec, practice_percent=Decimal(profile().tolerance_percent))
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
    job, state = _position(position, author)
    cleaned = _check_text(text, "measured", "what the meter reads")
    if verdict and verdict not in Verdict.values:
        raise Refused("Choose a verdict from the list.", field="verdict")
    value, judgement = _judge_reading(state, cleaned, in_circuit, by_hand=bool(verdict))
    deviation = judgement.deviation_percent
    return append(
        job,
        position=position,
        kind=EntryKind.MEASURED,
        corrects=_correcting(state, corrects, (EntryKind.MEASURED,)),
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
    if kind not in ("resistance", "capacitance", "inductance", "winding"):
        return None, Judgement(Verdict.NOT_MEASURED, None, None, ())
    kind = "resistance" if kind == "winding" else kind
    practice = Decimal(profile().tolerance_percent)
    # Where a value is called for, a reading may be of another kind: a capacitor's leakage in ohms or milliamps.
    unstated = kind if state.called_spec is None else None
    try:
        judgement = judge(state.called_spec, text, practice_percent=practice, in_circuit=in_circuit, kind=unstated)
    except NotationError as error:
        if error.code == "ambiguous":
            raise ambiguous(error, "measured") from error
        if not by_hand:
            raise Refused(error.message, field="measured", code=error.code) from error
        return None, Judgement(Verdict.NOT_MEASURED, None, None, ())
    return _reading_value(text, kind), judgement


def _reading_value(text: str, kind: str) -> float | None:
    try:
        return float(read_notation(text, kind).value)
    except NotationError:
        return None


MOST_A_POSITION = 20


def _check_count(count: int, what: str) -> None:
    if not 1 <= count <= MOST_A_POSITION:
        raise Refused(f"{what} between 1 and {MOST_A_POSITION} parts for a position.", field="count")


@dataclass(frozen=True, slots=True)
class Plan:
    """What to put in: a part, how many, and, to keep it for this job, the lot and drawer it lies in."""

    part: Part
    count: int = 1
    lot: Lot | None = None
    drawer: Drawer | None = None


@transaction.atomic
def decide(
    position: Position,
    decision: str,
    author: Author,
    *,
    why: str = "",
    plan: Plan | None = None,
    corrects: LogEntry | None = None,
) -> LogEntry:
    """Leave in, replace, repair in place, remove. A plan holds the part in its drawer and gives the estimate its price."""
    job, state = _position(position, author)
    if decision not in Decision.values:
        raise Refused("Choose a decision from the list.", field="decision")
    if plan is not None and decision != Decision.REPLACE:
        raise Refused("A part is planned only where the decision is to replace.", field="decision")
    if decision == Decision.KEEP and state.verdict not in (Verdict.WITHIN, Verdict.NOT_MEASURED) and not why.strip():
        raise Refused(f"The verdict is “{state.verdict_label}”. Say why the part stays in.", field="why")
    previous = state.decided
    if previous is not None and previous.hold is not None and previous.hold.is_open:
        stock.release_hold(previous.hold, at=author.at)
    held, price = _plan(plan, job, author)
    return append(
        job,
        position=position,
        kind=EntryKind.DECIDED,
        corrects=_correcting(state, corrects, (EntryKind.DECIDED,)),
        decision=decision,
        note=why.strip()[:300],
        part=plan.part if plan else None,
        count=plan.count if plan else 1,
        hold=held,
        unit_price_minor=price,
        at=author.at,
        person=author.person,
    )


def _plan(plan: Plan | None, job: Job, author: Author) -> tuple[Hold | None, int | None]:
    if plan is None:
        return None, None
    _check_count(plan.count, "Plan")
    lot = plan.lot or plan.part.lots.order_by("-received_on", "-pk").first()
    if lot is None:
        price = plan.part.list_price_minor
        if price is None:
            raise Refused(
                f"{plan.part} has neither a list price nor a lot to reckon one from. Give it a list price first.", field="part"
            )
        return None, price
    price = unit_price_minor(plan.part, lot)
    if plan.lot is None or plan.drawer is None:
        return None, price
    held = stock.hold(plan.lot, plan.drawer, plan.count, reference=job.number, person=author.person, at=author.at)
    return held, price


@dataclass(frozen=True, slots=True)
class Fit:
    """A part out of a drawer into a position.

    `not_charged` says why the customer doesn't pay for it. To override a refusal takes `override_reason` and a second person.
    """

    lot: Lot
    drawer: Drawer
    count: int = 1
    not_charged: str = ""
    override_reason: str = ""
    override_by: Staff | None = None
    note: str = ""


@transaction.atomic
def fit(position: Position, fitting: Fit, author: Author) -> LogEntry:
    """Fit a part: log entry and stock movement are one act. Refuses what is unsafe, what isn't there and what isn't agreed."""
    job, state = _position(position, author)
    _check_stage(job)
    _check_count(fitting.count, "Fit")
    lot = Lot.objects.select_related("part").get(pk=fitting.lot.pk)
    answer = answer_for(state, lot.part, job)
    _check_override(state, fitting, answer.answer, [reason.message for reason in answer.reasons if reason.level == "no"], author)
    price = unit_price_minor(lot.part, lot)
    if not fitting.not_charged.strip():
        guard(job, price * fitting.count, "part")
    hold = _hold_for(state, lot, fitting, author.at)
    movement = stock.take(lot, fitting.drawer, fitting.count, reference=job.number, person=author.person, at=author.at, hold=hold)
    overridden = answer.answer == "no"
    return append(
        job,
        position=position,
        kind=EntryKind.FITTED,
        text=lot.part.title[:300],
        note=fitting.note[:300],
        part=lot.part,
        lot=lot,
        movement=movement,
        count=fitting.count,
        unit_price_minor=price,
        part_class=lot.condition,
        charged=not fitting.not_charged.strip(),
        not_charged_reason=fitting.not_charged.strip()[:200],
        answer=answer.answer,
        reasons="\n".join(reason.message for reason in answer.reasons),
        override_reason=fitting.override_reason.strip()[:300] if overridden else "",
        override_by=fitting.override_by if overridden else None,
        at=author.at,
        person=author.person,
    )


def _check_stage(job: Job) -> None:
    if job.stage not in FITTING_STAGES:
        raise Refused(
            f"Parts are fitted while the set is on the bench; job {job.number} is at “{job.get_stage_display()}”. "
            "The job page shows which act comes next.",
            code="wrong_stage",
        )


def _check_override(state: PositionState, fitting: Fit, answer: str, refusals: list[str], author: Author) -> None:
    """A refusal stands unless somebody gives a reason and a second person stands beside it."""
    if answer != "no":
        return
    because = " ".join(refusals)
    if not fitting.override_reason.strip():
        raise Refused(
            f"{fitting.lot.part} will not do at {state.position.designator}: {because} "
            "If it must be fitted all the same, give the reason and a second person; both are printed on the job summary.",
            field="override_reason",
            code="unsuitable",
        )
    if fitting.override_by is None or fitting.override_by.pk == author.person.pk:
        raise Refused("An override needs a second person, not the one who fits the part.", field="override_by", code="unsuitable")


def _hold_for(state: PositionState, lot: Lot, fitting: Fit, at: datetime) -> Hold | None:
    """The hold made by the decision: used when this very lot is fitted, let go when another one is."""
    decided = state.decided
    if decided is None or decided.hold is None or not decided.hold.is_open:
        return None
    held = decided.hold
    if held.lot_id == lot.pk and held.drawer_id == fitting.drawer.pk and held.count == fitting.count:
        return held
    stock.release_hold(held, at=at)
    return None


def guard(job: Job, amount_minor: int, what: str) -> None:
    """Nothing above the agreed sum and the shop's written allowance."""
    terms = profile()
    is_labour = what == "labour"
    after = exposure_of(
        job, terms, more_labour_minor=amount_minor if is_labour else 0, more_parts_minor=0 if is_labour else amount_minor
    )
    if after.spent_minor <= after.ceiling_minor:
        return
    ceiling, spent = (
        show(after.ceiling_minor, terms.currency, terms.locale),
        show(after.spent_minor, terms.currency, terms.locale),
    )
    agreed = "Nothing has been agreed yet" if after.consent is None else f"{ceiling} is agreed (with the shop's allowance)"
    raise Refused(
        f"{agreed}, and with this {what} the job would stand at {spent}. Revise the estimate and get the customer's consent, "
        "or enter it as not charged with a reason.",
        code="over_ceiling",
    )


@transaction.atomic
def take_out(entry: LogEntry, reason: str, author: Author, *, scrap: bool) -> LogEntry:
    """A fitted part comes out again: back to its lot and drawer, or scrapped, with a reason."""
    if entry.position is None:
        raise Refused("This entry isn't a fitted part.")
    job, state = _position(entry.position, author)
    _check_stage(job)
    cleaned = _check_text(reason, "reason", "why the part comes out", 200)
    current = next((fit for fit in state.fitted if fit.pk == entry.pk), None)
    if current is None or current.movement is None:
        raise Stale(
            f"{entry.text} is no longer in {entry.position.designator}: somebody took it out already. Load the sheet again."
        )
    back = stock.put_back(current.movement, reason=cleaned, reference=job.number, person=author.person, at=author.at)
    if scrap:
        stock.scrap(back.lot, back.drawer, back.count, reason=cleaned, person=author.person, at=author.at, reference=job.number)
    return append(
        job,
        position=entry.position,
        kind=EntryKind.TAKEN_OUT,
        text=entry.text,
        note=cleaned,
        part=current.part,
        lot=current.lot,
        movement=back,
        count=current.count,
        takes_out=current,
        scrapped=scrap,
        at=author.at,
        person=author.person,
    )


@transaction.atomic
def record_wiring(
    job: Job, text: str, author: Author, *, position: Position | None = None, corrects: LogEntry | None = None
) -> LogEntry:
    """Found wired otherwise than the schematic, or rewired by us."""
    what = "what is wired otherwise than the schematic"
    return _plain(job, position, EntryKind.WIRING, text, author, what, corrects)


@transaction.atomic
def record_note(
    job: Job, text: str, author: Author, *, position: Position | None = None, corrects: LogEntry | None = None
) -> LogEntry:
    return _plain(job, position, EntryKind.NOTE, text, author, "what to note", corrects)


@transaction.atomic
def confirm_polarity(position: Position, author: Author, *, note: str = "", corrects: LogEntry | None = None) -> LogEntry:
    """Somebody looked: the plus side of the fitted part is where the schematic has it."""
    text = note.strip() or "polarity as the schematic has it"
    return _plain(position.job, position, EntryKind.POLARITY, text, author, "what you saw", corrects)


@transaction.atomic
def amend_called_for(position: Position, text: str, author: Author, *, corrects: LogEntry | None = None) -> LogEntry:
    """The sheet was wrong or unreadable: another value is called for in this job."""
    kind = role_of(position.role).kind
    cleaned = _check_text(text, "called", "what is called for", 80)
    if kind in ("resistance", "capacitance", "inductance"):
        try:
            read_notation(cleaned, kind)
        except NotationError as error:
            raise (ambiguous(error, "called") if error.code == "ambiguous" else Refused(error.message, field="called")) from error
    return _plain(position.job, position, EntryKind.CALLED_FOR, cleaned, author, "what is called for", corrects)


def _plain(
    job: Job, position: Position | None, kind: str, text: str, author: Author, what: str, corrects: LogEntry | None
) -> LogEntry:
    cleaned = _check_text(text, "text", what)
    if position is None:
        return append(log_job(job), kind=kind, text=cleaned, at=author.at, person=author.person)
    current, state = _position(position, author)
    corrected = _correcting(state, corrects, (kind,))
    return append(current, position=position, kind=kind, corrects=corrected, text=cleaned, at=author.at, person=author.person)


@transaction.atomic
def withdraw(entry: LogEntry, author: Author, *, why: str = "") -> LogEntry:
    """Take an entry back: a new entry that names it. Fitted parts are taken out instead."""
    if entry.kind in (EntryKind.FITTED, EntryKind.TAKEN_OUT):
        raise Refused("A fitted part isn't withdrawn; take it out again, so that the drawer agrees with the log.")
    job = log_job(entry.job)
    if entry.withdrawn or LogEntry.objects.filter(corrects=entry).exists():
        raise Stale("This entry was corrected or taken back already. Load the page again.")
    if entry.hold is not None and entry.hold.is_open:
        stock.release_hold(entry.hold, at=author.at)
    return append(
        job,
        position=entry.position,
        kind=entry.kind,
        corrects=entry,
        withdrawn=True,
        text=entry.text,
        decision=entry.decision,
        note=why[:300],
        at=author.at,
        person=author.person,
    )
