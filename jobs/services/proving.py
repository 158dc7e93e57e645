"""Writers of what proves a set: second look, safety check, soak, hand-over."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from inventory import services as stock
from inventory.models import Hold
from jobs.bench import safety
from jobs.models import HandOver, HandOverKind, Job, SafetyCheck, SafetyReading, SecondLook, SoakRun, Stage
from jobs.queries.second_look import second_look_points
from jobs.queries.sheet import sheet_of
from jobs.services import stages
from jobs.services.stages import open_job
from shop.acts import Refused, Stale
from shop.models import Staff


@transaction.atomic
def sign_second_look(
    job: Job, accepted: Sequence[str], *, person: Staff, at: datetime, note: str = "", seen: int | None = None
) -> SecondLook:
    """Sign that the set may be powered. Every point that doesn't block must be accepted by name (its `code:place`).

    `seen` is the last entry of the log that the list on the page was drawn from.
    """
    current = open_job(job)
    if seen is not None and seen != current.log_seq:
        raise Stale("The log has grown since this list was drawn. Look the list over again, then sign.")
    if current.stage != Stage.PROVING:
        raise Refused(
            "The second look comes when fitting is done. Press “Fitting is done” on the job page first.", code="wrong_stage"
        )
    sheet = sheet_of(current)
    points = second_look_points(sheet)
    blocking = [point for point in points if point.blocks]
    if blocking:
        first = blocking[0]
        many = "1 point still blocks" if len(blocking) == 1 else f"{len(blocking)} points still block"
        raise Refused(f"{many}, the first: {first.place}, {first.text}.", code="blocked")
    unseen = [point for point in points if point.key not in accepted]
    if unseen:
        raise Refused(f"Tick every point you looked at; {unseen[0].place} ({unseen[0].text}) isn't ticked.", field="accepted")
    text = "\n".join(f"{point.place}: {point.text}" for point in points)
    return SecondLook.objects.create(job=current, log_seq=current.log_seq, note=note[:300], accepted=text, at=at, person=person)


@dataclass(frozen=True, slots=True)
class TakenReading:
    """One reading as taken: which test, plug polarity, switch, and the value in the test's unit."""

    test: str
    value: Decimal
    polarity: str = ""
    switch: str = ""


@transaction.atomic
def record_safety_check(
    job: Job,
    practice: str,
    readings: Sequence[TakenReading],
    *,
    isolating_transformer: bool,
    earthed: bool,
    instrument: str,
    person: Staff,
    at: datetime,
) -> SafetyCheck:
    """Judge and record a check against the shop's practice. A failed check is recorded as failed; it is not thrown away."""
    current = open_job(job)
    if current.stage not in (Stage.REPAIRING, Stage.PROVING, Stage.SOAKING, Stage.READY):
        raise Refused("The safety check comes when the set has been worked on.", code="wrong_stage")
    judged = [(reading, _judge(practice, reading)) for reading in readings]
    result = safety.judge_check(
        practice,
        [safety.TakenReading(one.test, one.value, one.polarity, one.switch) for one in readings],
        behind_isolating_transformer=isolating_transformer,
        earthed=earthed,
    )
    if result.missing:
        raise Refused("Readings are missing: " + "; ".join(map(_name, result.missing)) + ".", code="missing_readings")
    check = SafetyCheck.objects.create(
        job=current,
        practice=practice,
        earthed=earthed,
        isolating_transformer=isolating_transformer,
        instrument=instrument[:80],
        passed=result.passed,
        findings="\n".join([*(_failure(practice, one) for one in result.failed), *result.invalid_reasons]),
        log_seq=current.log_seq,
        at=at,
        person=person,
    )
    for reading, (test, outcome) in judged:
        _write_reading(check, reading, test, outcome)
    return check


def _name(needed: safety.RequiredReading) -> str:
    """One reading as the page names it: `Voltage ... to earth, plug reversed, switch on`."""
    return _place(needed.test.label, needed.polarity, needed.switch)


def _place(label: str, polarity: str, switch: str) -> str:
    return label + (f", plug {polarity}" if polarity else "") + (f", switch {switch}" if switch else "")


def _failure(practice: str, failed: safety.FailedReading) -> str:
    reading = failed.reading
    test = safety.practice(practice).test(reading.test_code)
    place = _place(test.label, reading.polarity, reading.switch)
    return f"{place}: {reading_text(reading.value)} {test.unit}, {failed.result.limit_text} is allowed."


def reading_text(value: Decimal) -> str:
    return "over range" if value.is_infinite() else f"{value:f}"


def _judge(practice: str, reading: TakenReading) -> tuple[safety.SafetyTest, safety.ReadingResult]:
    if reading.value < 0:
        raise Refused("A reading can't be below nothing.", field="readings")
    test = next((one for one in safety.practice(practice).tests if one.code == reading.test), None)
    if test is None:
        raise Refused("This reading belongs to another safety practice. Load the page again.", field="readings")
    return test, safety.judge_reading(practice, reading.test, reading.value)


def _write_reading(check: SafetyCheck, reading: TakenReading, test: safety.SafetyTest, outcome: safety.ReadingResult) -> None:
    SafetyReading.objects.create(
        check_made=check,
        test=test.code,
        label=test.label[:200],
        polarity=reading.polarity,
        switch=reading.switch,
        reading=reading_text(reading.value)[:40],
        unit=test.unit,
        limit=outcome.limit_text[:60],
        source=outcome.source[:200],
        passed=outcome.passed,
    )


@transaction.atomic
def start_soak(job: Job, *, person: Staff, at: datetime) -> SoakRun:
    """Start the long run: only once the set was looked over and found safe."""
    current = open_job(job)
    if current.stage == Stage.PROVING:
        stages.perform(current, "start_soak", person=person, at=at)
    elif current.stage != Stage.SOAKING:
        raise Refused("The soak starts after the second look and the safety check.", code="wrong_stage")
    if current.soaks.filter(ended_at__isnull=True).exists():
        raise Refused("A soak is running already. End it first.", code="soak_running")
    run = SoakRun.objects.create(job=current, started_at=at, started_by=person)
    job.refresh_from_db()
    return run


@transaction.atomic
def end_soak(run: SoakRun, *, passed: bool, at: datetime, note: str = "") -> SoakRun:
    open_job(run.job)
    current = SoakRun.objects.select_for_update().get(pk=run.pk)
    if current.ended_at is not None:
        raise Stale("This soak was ended already.")
    if not passed and not note.strip():
        raise Refused("Say what went wrong during the soak.", field="note")
    if at < current.started_at:
        raise Refused("The soak can't end before it began. Check the computer's clock.", code="clock")
    current.ended_at, current.passed, current.note = at, passed, note[:300]
    current.minutes = int((at - current.started_at).total_seconds() // 60)
    current.save()
    return current


@transaction.atomic
def record_hand_over(
    job: Job, kind: str, *, received_by: str, how_disabled: str, money: str, person: Staff, at: datetime, code: str = ""
) -> HandOver:
    """Write the hand-over and close the job; what was held for it is free again. Billing has looked at safety and money.

    `code` is the act that closes the job; by default the one of the door that `kind` stands for.
    """
    current = open_job(job)
    if len(received_by.strip()) < 2:
        raise Refused("Write who received the set and signed for it.", field="received_by")
    if kind == HandOverKind.UNSAFE and not how_disabled.strip():
        raise Refused("Say how the set was disabled (for example: line cord cut off and kept).", field="how_disabled")
    done = HandOver.objects.create(
        job=current,
        kind=kind,
        received_by=received_by.strip()[:120],
        how_disabled=how_disabled.strip()[:200],
        money=money[:200],
        at=at,
        person=person,
    )
    for held in Hold.objects.filter(log_entry__job=current, ended_at__isnull=True):
        stock.release_hold(held, at=at)
    door = "hand_over" if kind == HandOverKind.PROVEN else "return_unrepaired"
    stages.perform(current, code or door, person=person, at=at, note=f"received by {received_by.strip()}")
    job.refresh_from_db()
    return done
