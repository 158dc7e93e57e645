"""Labour's only writer: a running clock, typed time, flat tasks, corrections."""

import re
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from django.utils.timezone import localdate

from jobs.models import FlatTask, Job, LabourEntry, Step, Timer
from jobs.queries.borne import BORNE_BY_US, Share, borne_on
from jobs.services.log import guard, profile
from jobs.services.minimum import make_room
from jobs.services.stages import log_job
from jobs.services.tasks import check_task
from shop.acts import Refused, Stale
from shop.models import Profile, Staff
from shop.money import round_minor

LONGEST_MINUTES = 24 * 60
_SHARE = re.compile(rf"\s*\(\d+{re.escape(BORNE_BY_US)}.*\)$")


@dataclass(frozen=True, slots=True)
class Work:
    """Time worked by somebody on a step, or a flat task `count` times. `not_charged` says why the customer doesn't pay for it.

    `beyond_cover`: it has nothing to do with what the shop bears a part of on this job, so it is charged in full.
    """

    worker: Staff
    step: str
    worked_on: date
    minutes: int = 0
    text: str = ""
    task: FlatTask | None = None
    not_charged: str = ""
    count: int = 1
    beyond_cover: bool = False


def charged_minutes(minutes: int, step_minutes: int) -> int:
    """Worked minutes rounded up to the shop's step: 31 min in steps of 15 are charged as 45."""
    step = max(step_minutes, 1)
    return -(-minutes // step) * step


def labour_price(minutes: int, hour_rate_minor: int) -> int:
    return round_minor(Decimal(minutes) * hour_rate_minor / 60)


def _check(work: Work, at: datetime) -> None:
    if work.step not in Step.values:
        raise Refused("Choose the step from the list.", field="step")
    if work.task is None and work.minutes < 1:
        raise Refused("Enter the time worked, in hours and minutes.", field="minutes")
    if work.minutes > LONGEST_MINUTES:
        raise Refused("That is more than a day in one entry. Enter one day at a time.", field="minutes")
    if work.worked_on > localdate(at):
        raise Refused("The day worked lies in the future.", field="worked_on")


@transaction.atomic
def log_work(job: Job, work: Work, *, person: Staff, at: datetime, corrects: LabourEntry | None = None) -> LabourEntry:
    """Log time or a flat task. Beyond the agreed sum it is refused, unless it is entered as not charged."""
    _check(work, at)
    current, terms = log_job(job), profile()
    if work.task is not None:
        check_task(work.task, work.count, current, corrects)
    if corrects is not None:
        _not_corrected_yet(corrects, job)
    borne = None if work.beyond_cover or work.not_charged.strip() else borne_on(current).work
    values = _priced(work, terms, borne)
    before = corrects.billed_minor if corrects else 0
    if values["charged"]:
        make_room(current, int(values["amount_minor"]) - before, person=person, at=at)  # type: ignore[call-overload]
    if values["charged"] and int(values["amount_minor"]) > before:  # type: ignore[call-overload]
        guard(current, int(values["amount_minor"]) - before, "labour")  # type: ignore[call-overload]
    _touch(current)
    return LabourEntry.objects.create(
        job=current,
        worker=work.worker,
        step=work.step,
        text=_with_share(work.text, borne),
        worked_on=work.worked_on,
        minutes=work.minutes,
        task=work.task,
        task_count=work.count if work.task else 1,
        corrects=corrects,
        at=at,
        person=person,
        **values,
    )


def _priced(work: Work, terms: Profile, borne: Share | None = None) -> dict[str, object]:
    """Where the shop bears a part, the rate or the task's price is lowered: the entry still comes to minutes at a rate."""
    reason = work.not_charged.strip()[:200] or (borne.reason if borne and borne.is_all else "")
    charge = {"charged": not reason, "not_charged_reason": reason}
    shared = borne if borne is not None and not borne.is_all else None
    if work.task is not None:
        each = shared.left_of(work.task.price_minor) if shared else work.task.price_minor
        return {"flat_minor": each * work.count, "amount_minor": each * work.count, **charge}
    minutes = charged_minutes(work.minutes, terms.minute_step)
    rate = shared.left_of(terms.hour_rate_minor) if shared else terms.hour_rate_minor
    return {"charged_minutes": minutes, "hour_rate_minor": rate, "amount_minor": labour_price(minutes, rate), **charge}


def _with_share(text: str, borne: Share | None) -> str:
    """What was done, with the share that the shop bears of it, so that the bill says why the rate is lower."""
    own = as_written(text)
    if borne is None or borne.is_all:
        return own[:160]
    return f"{own[: 157 - len(borne.words)]} ({borne.words})".strip()


def as_written(text: str) -> str:
    """A labour entry's text without the share that was added to it."""
    return _SHARE.sub("", text)


def _touch(job: Job) -> None:
    job.version += 1
    job.save(update_fields=["version"])


def _not_corrected_yet(entry: LabourEntry, job: Job) -> None:
    if entry.job_id != job.pk:
        raise Refused("The entry to correct belongs to another job.")
    if entry.withdrawn or LabourEntry.objects.filter(corrects=entry).exists():
        raise Stale("This entry was corrected or taken back already. Load the page again.")


@transaction.atomic
def withdraw_work(entry: LabourEntry, *, person: Staff, at: datetime, why: str) -> LabourEntry:
    """Take a labour entry back: a new entry that names it and counts nothing."""
    if not why.strip():
        raise Refused("Say why the entry is taken back.", field="why")
    current = log_job(entry.job)
    _not_corrected_yet(entry, current)
    _touch(current)
    return LabourEntry.objects.create(
        job=current,
        worker=entry.worker,
        step=entry.step,
        text=why.strip()[:160],
        worked_on=entry.worked_on,
        task=entry.task,
        task_count=entry.task_count,
        corrects=entry,
        withdrawn=True,
        at=at,
        person=person,
    )


@transaction.atomic
def start_clock(job: Job, step: str, *, person: Staff, at: datetime) -> Timer:
    current = log_job(job)
    if step not in Step.values:
        raise Refused("Choose the step from the list.", field="step")
    clock, made = Timer.objects.get_or_create(person=person, defaults={"job": current, "step": step, "started_at": at})
    if not made:
        raise Refused(f"Your clock is running on job {clock.job.number}. Stop it first.", code="clock_running")
    return clock


@transaction.atomic
def stop_clock(timer: Timer, *, person: Staff, at: datetime, text: str = "", not_charged: str = "") -> LabourEntry:
    """Stop the clock and log its time. Where that goes beyond the agreed sum the clock keeps running and nothing is lost."""
    current = Timer.objects.select_for_update(of=("self",)).select_related("job", "person").filter(pk=timer.pk).first()
    if current is None:
        raise Stale("This clock was stopped already.")
    if at < current.started_at:
        raise Refused(
            "The time of the shop’s computer was set back since this clock was started, so nobody knows how long it ran. "
            "Drop it, and type in the time that was really worked.",
            code="clock_too_long",
        )
    minutes = max(round((at - current.started_at).total_seconds() / 60), 1)
    if minutes > LONGEST_MINUTES:
        raise Refused(
            "This clock ran for more than a day. Drop it, and type in the time that was really worked.", code="clock_too_long"
        )
    day = min(localdate(current.started_at), localdate(at))
    work = Work(current.person, current.step, day, minutes, text=text, not_charged=not_charged)
    entry = log_work(current.job, work, person=person, at=at)
    current.delete()
    return entry


@transaction.atomic
def end_clock(timer: Timer, minutes: int, *, person: Staff, at: datetime, text: str = "", not_charged: str = "") -> None:
    """Stop a clock and log what was really worked while it ran, on the day it was started; 0 minutes log nothing."""
    current = Timer.objects.select_for_update(of=("self",)).select_related("job", "person").filter(pk=timer.pk).first()
    if current is None:
        raise Stale("This clock was stopped already.")
    if minutes > max(round((at - current.started_at).total_seconds() / 60), 1):
        raise Refused("The clock hasn't run that long. Type the time that was really worked.", field="minutes")
    if minutes:
        day = min(localdate(current.started_at), localdate(at))
        work = Work(current.person, current.step, day, minutes, text=text, not_charged=not_charged)
        log_work(current.job, work, person=person, at=at)
    current.delete()


@transaction.atomic
def drop_clock(timer: Timer) -> None:
    """Stop the clock and log nothing."""
    Timer.objects.filter(pk=timer.pk).delete()
