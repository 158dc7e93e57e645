"""The named acts that move a job from stage to stage. Each says what it needs; what is missing is told, not guessed."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.db.models import F

from jobs.models import Job, JobAct, Stage, WaitsFor
from jobs.models.estimate import EstimateState
from jobs.models.job import OPEN_STAGES
from jobs.queries.declining import put_back_missing
from jobs.queries.missing import consent_missing, cover_missing, declined_missing, proof_missing, running_soak, soak_missing
from shop.acts import Refused, Stale
from shop.models import Bench, Staff
from shop.prepared import by_key, change

Needs = Callable[[Job], list[str]]


def nothing(job: Job) -> list[str]:
    return []


@dataclass(frozen=True, slots=True)
class Act:
    """A named act: from which stages it starts, where it leads, what must be there first, whether it can be undone."""

    code: str
    label: str
    starts: tuple[str, ...]
    leads: str
    needs: Needs = nothing
    reversible: bool = True


WORKED_ON = (Stage.AGREED, Stage.REPAIRING, Stage.PROVING)
BEFORE_CONSENT = (Stage.TAKEN_IN, Stage.INSPECTING, Stage.AWAITING_CONSENT, Stage.DECLINED)
ACTS: dict[str, Act] = {
    act.code: act
    for act in (
        Act("start_inspection", "Start inspection", (Stage.TAKEN_IN,), Stage.INSPECTING),
        Act("cover", "Covered by the warranty: no estimate", (Stage.TAKEN_IN, Stage.INSPECTING), Stage.AGREED, cover_missing),
        Act("start_repair", "Start work on the bench", (Stage.AGREED,), Stage.REPAIRING, consent_missing),
        Act("finish_repair", "Fitting is done: second look", (Stage.REPAIRING,), Stage.PROVING),
        Act("start_soak", "Start the soak", (Stage.PROVING,), Stage.SOAKING, proof_missing, reversible=False),
        Act("mark_ready", "Ready to collect", (Stage.SOAKING,), Stage.READY, soak_missing),
        Act("back_to_bench", "Back to the bench", (Stage.PROVING, Stage.SOAKING, Stage.READY), Stage.REPAIRING, running_soak),
        # The next ones are part of acts with a page of their own: estimates, consents, hand-over.
        Act("send_estimate", "Estimate sent", BEFORE_CONSENT, Stage.AWAITING_CONSENT, reversible=False),
        Act("recall_estimate", "Estimate taken back", (Stage.AWAITING_CONSENT,), Stage.INSPECTING, reversible=False),
        Act("agree", "Customer agreed", (Stage.AWAITING_CONSENT,), Stage.AGREED, reversible=False),
        Act("decline", "Customer declined", (Stage.AWAITING_CONSENT,), Stage.DECLINED, reversible=False),
        Act("put_back", "No more work: put it back as it came", WORKED_ON, Stage.DECLINED, declined_missing),
        Act("reinspect", "Inspect again", (Stage.DECLINED, Stage.AGREED), Stage.INSPECTING),
        Act("hand_over", "Handed over", (Stage.READY,), Stage.HANDED_OVER, reversible=False),
        Act("return_unrepaired", "Returned unrepaired", OPEN_STAGES, Stage.RETURNED, reversible=False),
        Act("is_back", "It is back as it came: ready to fetch", (Stage.DECLINED,), Stage.DECLINED, put_back_missing),
        Act("sell_uncollected", "Sold, as nobody collected it", (Stage.READY, Stage.DECLINED), Stage.SOLD, reversible=False),
    )
}
# Nobody works towards these, so they are offered only once nothing is missing.
ONLY_WHEN_READY = ("put_back", "cover")
BY_BUTTON = (
    "start_inspection",
    "cover",
    "start_repair",
    "finish_repair",
    "start_soak",
    "mark_ready",
    "back_to_bench",
    "put_back",
    "reinspect",
)


_LOCKED = by_key(Job, lock=True)


def lock_job(job: Job, seen: int | None = None) -> Job:
    """The job's row, locked until the transaction ends. With `seen`, refuses when somebody changed the job since."""
    current = _LOCKED.get(job.pk)
    if seen is not None and seen != current.version:
        raise Stale(
            f"Job {current.number} was changed by somebody else since you opened it. What you typed is still here: "
            "compare it with the job as it is now, then send it again."
        )
    return current


def open_job(job: Job, seen: int | None = None) -> Job:
    current = lock_job(job, seen)
    if not current.is_open:
        raise Refused(
            f"Job {current.number} is closed ({current.get_stage_display().lower()}), so nothing is added to it any more."
        )
    return current


def log_job(job: Job, seen: int | None = None) -> Job:
    """A job whose log may still grow: open, and not billed yet."""
    current = open_job(job, seen)
    if current.billed:
        raise Refused(
            f"Job {current.number} is billed, so its log and labour stand as they are. Credit the invoice first, then go on.",
            code="billed",
        )
    return current


def set_billed(job: Job, billed: bool) -> None:
    """Called by billing when an invoice is issued or credited: a billed log doesn't grow. The job's row must be locked."""
    job.billed = billed
    job.version += 1
    change(Job, job.pk, billed=billed, version=job.version)


@transaction.atomic
def perform(job: Job, code: str, *, person: Staff | None, at: datetime, note: str = "") -> JobAct:
    """Do a named act, or refuse with all that is missing."""
    act = ACTS.get(code)
    if act is None:
        raise Refused("There is no such act. Load the page again.")
    current = lock_job(job)
    if current.stage not in act.starts:
        raise Refused(
            f"“{act.label}” doesn't fit now: job {current.number} is at “{current.get_stage_display()}”. "
            "Load the page again to see what comes next.",
            code="wrong_stage",
        )
    missing = act.needs(current)
    if missing:
        raise Refused(f"“{act.label}” needs first: " + "; ".join(missing) + ".", code="missing")
    return _move(current, job, act.code, act.leads, person=person, at=at, note=note)


def _move(
    current: Job,
    shown: Job,
    code: str,
    leads: str,
    *,
    person: Staff | None,
    at: datetime,
    note: str = "",
    undoes: JobAct | None = None,
) -> JobAct:
    done = JobAct.objects.create(
        job=current, act=code, from_stage=current.stage, to_stage=leads, note=note[:300], at=at, person=person, undoes=undoes
    )
    current.stage = leads
    _settle_waiting(current, at)
    current.version += 1
    current.save(update_fields=["stage", "version", "waits_for", "waits_note", "waits_since_at", "bench"])
    shown.refresh_from_db()
    return done


WAITING: dict[str, str] = {
    Stage.AWAITING_CONSENT: WaitsFor.APPROVAL,
    Stage.SOAKING: WaitsFor.SOAK,
    Stage.READY: WaitsFor.PERSON,
}


ON_THE_BENCH = (Stage.REPAIRING, Stage.PROVING)


def _settle_waiting(job: Job, at: datetime) -> None:
    """What a job waits for follows from its stage; a wait somebody set by hand ends when the job moves on.

    A revised estimate that is still with the customer is waited for at whatever stage the bench works on.
    """
    revised = job.estimates.filter(state=EstimateState.SENT).exists() and job.stage in ON_THE_BENCH
    if revised and job.waits_for == WaitsFor.APPROVAL:
        return
    job.waits_for = WAITING.get(job.stage, WaitsFor.NOTHING)
    job.waits_note = "collection" if job.stage == Stage.READY else ""
    job.waits_since_at = at if job.waits_for else None
    if not job.is_open:
        job.bench = None


@dataclass(frozen=True, slots=True)
class NextAct:
    """An act that may come next, with what it still needs; nothing missing means that it can be done now."""

    act: Act
    missing: tuple[str, ...]


def next_acts(job: Job) -> list[NextAct]:
    """The acts with a button of their own that start from where the job is. Those on pages of their own are not among them."""
    acts = [ACTS[code] for code in BY_BUTTON if job.stage in ACTS[code].starts]
    found = [NextAct(act, tuple(act.needs(job))) for act in acts]
    return [one for one in found if one.act.code not in ONLY_WHEN_READY or not one.missing]


def undoable(job: Job) -> JobAct | None:
    """The last act, when it can be taken back."""
    last = job.acts.order_by("-pk").first()
    if last is None or last.undoes_id or not job.is_open or not last.from_stage:
        return None
    act = ACTS.get(last.act)
    return last if act is not None and act.reversible and last.to_stage == job.stage else None


@transaction.atomic
def undo(job: Job, act: JobAct, *, person: Staff, at: datetime) -> JobAct:
    """Take the last act back: a new act that leads to the stage before it."""
    current = lock_job(job)
    last = undoable(current)
    if last is None or last.pk != act.pk:
        raise Refused("This can't be undone any more: the job has moved on since.", code="moved_on")
    return _move(current, job, "undo", last.from_stage, person=person, at=at, note=f"undoes: {ACTS[last.act].label}", undoes=last)


@transaction.atomic
def put_on_bench(job: Job, bench: Bench | None, *, at: datetime, seen: int | None = None) -> None:
    """Place a job on a bench, or take it off. Several may stand at one; the clocks say which of them is worked on.

    `seen`: key of the bench that it stood on when the person looked, 0 for none. Only a move meanwhile is in the way of another;
    labour that was logged since then isn't.
    """
    current = open_job(job)
    if seen is not None and seen != (current.bench_id or 0):
        where = f"stands at {current.bench}" if current.bench else "is off the benches"
        raise Stale(f"Somebody else moved job {current.number} meanwhile: it {where} now. Look, then move it again if need be.")
    if bench is not None and not Bench.objects.select_for_update().get(pk=bench.pk).in_use:
        raise Refused(f"{bench} is no longer in use. Choose another bench.", field="bench")
    Job.objects.filter(pk=current.pk).update(bench=bench, version=F("version") + 1)
    job.refresh_from_db()


@transaction.atomic
def wait_for(job: Job, what: str, note: str, *, at: datetime, seen: int | None = None, since: datetime | None = None) -> None:
    """Say by hand what a job waits for (a part, somebody); `nothing` ends the wait. `since`: when an undone wait had begun."""
    current = open_job(job, seen)
    if what not in WaitsFor.values:
        raise Refused("Choose what the job waits for from the list.", field="waits_for")
    began = at if what and what != current.waits_for else current.waits_since_at
    if since is not None and current.taken_in_at <= since <= at:
        began = since
    Job.objects.filter(pk=current.pk).update(
        waits_for=what, waits_note=note[:160], waits_since_at=began if what else None, version=F("version") + 1
    )
    job.refresh_from_db()


def waiting_for_approval(job: Job, at: datetime) -> None:
    """A revision goes out while the set stays on the bench."""
    Job.objects.filter(pk=job.pk).update(waits_for=WaitsFor.APPROVAL, waits_note="revised estimate", waits_since_at=at)


def no_longer_waiting(job: Job) -> None:
    Job.objects.filter(pk=job.pk, waits_for=WaitsFor.APPROVAL).update(
        waits_for=WaitsFor.NOTHING, waits_note="", waits_since_at=None
    )
