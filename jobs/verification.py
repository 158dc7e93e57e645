"""Jobs derived again: stage from acts, the log's numbers, fitted parts and movements, labour, estimates, consents, warranty."""

from collections.abc import Iterator
from itertools import groupby

from django.db.models import Prefetch

from inventory.models import Movement, MovementKind
from jobs.cover.case import ClaimCase
from jobs.cover.judging import RULES, judge
from jobs.models import (
    ClaimDecision,
    Consent,
    EntryKind,
    Estimate,
    Evidence,
    FoundState,
    Job,
    JobAct,
    LabourEntry,
    LogEntry,
    Photo,
    Reforming,
    Stage,
    Warranty,
)
from jobs.models.estimate import ConsentAnswer, EstimateState
from jobs.queries.alternatives import alternative_named, lines_in
from jobs.queries.claim_case import AsOf, case_of
from jobs.queries.estimates import estimate_totals
from jobs.queries.personal import words_erased
from jobs.queries.photos import fold, found_photos_then
from jobs.queries.sheet import sheet_of
from jobs.services.estimates import fingerprint
from jobs.services.labour import labour_price
from shop.append_only import ERASED
from shop.differences import Found, Looker, differ, look
from shop.pictures import digest_kept

ANSWER_STATES = {ConsentAnswer.AGREED: EstimateState.AGREED, ConsentAnswer.DECLINED: EstimateState.DECLINED}


def stages() -> Found:
    """A job's stage is where its acts lead, each starting where the one before it ended."""
    acts: dict[int, list[JobAct]] = {}
    for act in JobAct.objects.order_by("pk"):
        acts.setdefault(act.job_id, []).append(act)
    return look("jobs: stage follows from the acts", (_stage_differs(job, acts.get(job.pk, [])) for job in Job.objects.all()))


def _stage_differs(job: Job, acts: list[JobAct]) -> Iterator[str]:
    stage = ""
    for act in acts:
        yield from differ(f"start of “{act.act}” of {job.number}", act.from_stage, stage)
        stage = act.to_stage
    yield from differ(f"stage of {job.number}", job.stage, stage)


def log_numbers() -> Found:
    """The entries of each job's log count from 1 without a gap, up to the number kept on the job."""
    rows = LogEntry.objects.order_by("job_id", "seq").values_list("job_id", "seq")
    numbers = {job: [seq for _, seq in found] for job, found in groupby(rows, key=lambda row: row[0])}
    return look(
        "jobs: log entries counted without gaps",
        (_numbers_differ(job, numbers.get(job.pk, [])) for job in Job.objects.only("number", "log_seq")),
    )


def _numbers_differ(job: Job, numbers: list[int]) -> Iterator[str]:
    yield from differ(f"last entry of {job.number}", job.log_seq, numbers[-1] if numbers else 0)
    if numbers != list(range(1, len(numbers) + 1)):
        yield f"log of {job.number} has gaps or doubles: {numbers}"


def fitted_parts() -> Found:
    """Every fitted part is exactly one movement out of its lot; what came out again is one movement back."""
    kinds = {EntryKind.FITTED: (MovementKind.FITTED, -1), EntryKind.TAKEN_OUT: (MovementKind.TAKEN_OUT, 1)}
    entries = LogEntry.objects.filter(kind__in=kinds).select_related("movement", "job", "takes_out")
    return look(
        "jobs: every fitted part is one movement", (_fit_differs(entry, *kinds[EntryKind(entry.kind)]) for entry in entries)
    )


def _fit_differs(entry: LogEntry, kind: str, sign: int) -> Iterator[str]:
    name, moved = f"entry {entry.seq} of {entry.job.number}", entry.movement
    if moved is None:
        yield f"{name} has no movement"
        return
    yield from differ(f"count of {name}", entry.count * sign, moved.count)
    yield from differ(f"lot of {name}", entry.lot_id, moved.lot_id)
    yield from differ(f"kind of the movement of {name}", moved.kind, kind)
    yield from differ(f"job of the movement of {name}", moved.reference, entry.job.number)
    if entry.takes_out is not None and (entry.takes_out.job_id, entry.takes_out.kind) != (entry.job_id, EntryKind.FITTED):
        yield f"{name} takes out what was not fitted in this job"


def fitted_movements() -> Found:
    """No part left a drawer to be fitted without an entry in a log."""
    moved = Movement.objects.filter(kind__in=(MovementKind.FITTED, MovementKind.TAKEN_OUT)).select_related("log_entry")
    return look(
        "jobs: every such movement is one entry",
        ([] if hasattr(one, "log_entry") else [f"movement {one.pk} for {one.reference} is in no log"] for one in moved),
    )


def labour() -> Found:
    """What each labour entry charges is its minutes at its rate, or its task's price as often as it is counted."""
    return look(
        "jobs: labour is minutes at their rate", (_labour_differs(one) for one in LabourEntry.objects.select_related("job"))
    )


def _labour_differs(entry: LabourEntry) -> Iterator[str]:
    derived = entry.flat_minor if entry.flat_minor is not None else labour_price(entry.charged_minutes, entry.hour_rate_minor)
    yield from differ(f"labour {entry.pk} of {entry.job.number}", entry.amount_minor, 0 if entry.withdrawn else derived)
    if entry.flat_minor is not None and entry.flat_minor % max(entry.task_count, 1):
        yield f"labour {entry.pk} of {entry.job.number} isn't {entry.task_count} times one price"


def estimates() -> Found:
    """A version's totals are those of its lines, and a sent one still has the fingerprint it was sent with."""
    # Joined: fetched apart, a thousand findings would make one expression too deep for SQLite.
    named = Evidence.objects.select_related("entry__position").prefetch_related("entry__position__photos")
    rows = Estimate.objects.select_related("job").prefetch_related("lines", "alternatives", Prefetch("evidence", named))
    return look("jobs: estimates come to their lines, frozen ones unchanged", (_estimate_differs(one) for one in rows))


def _estimate_differs(estimate: Estimate) -> Iterator[str]:
    low, high = estimate_totals(estimate)
    yield from differ(f"low end of {estimate}", estimate.low_minor, low.gross_minor)
    yield from differ(f"high end of {estimate}", estimate.high_minor, high.gross_minor)
    for one in estimate.alternatives.all():  # type: ignore[attr-defined]
        low, high = estimate_totals(estimate, lines_in(estimate.lines.all(), one.tier))  # type: ignore[attr-defined]
        yield from differ(f"low end of “{one}” of {estimate}", one.low_minor, low.gross_minor)
        yield from differ(f"high end of “{one}” of {estimate}", one.high_minor, high.gross_minor)
    if estimate.sent_at is not None and not words_erased(estimate):
        yield from differ(f"fingerprint of {estimate}", estimate.digest, fingerprint(estimate))


def consents() -> Found:
    """A consent agrees to the high end of exactly the version it names."""
    return look(
        "jobs: consents agree with their estimates",
        (_consent_differs(one) for one in Consent.objects.filter(estimate__isnull=False).select_related("estimate__job")),
    )


def _consent_differs(consent: Consent) -> Iterator[str]:
    estimate = consent.estimate
    if estimate is None:
        return
    chosen = alternative_named(estimate, consent.tier)
    if consent.tier and chosen is None:
        yield f"{consent} agrees to an alternative that {estimate} doesn't offer"
    agreed = (chosen or estimate).high_minor if consent.answer == ConsentAnswer.AGREED else 0
    yield from differ(f"sum agreed to of {estimate}", consent.ceiling_minor, agreed)
    yield from differ(f"fingerprint agreed to of {estimate}", consent.digest, estimate.digest)
    yield from differ(f"state of {estimate}", estimate.state, ANSWER_STATES[ConsentAnswer(consent.answer)])


def warranties() -> Found:
    """Every set handed over proven has a warranty, with one line for each part that is in it."""
    handed = Job.objects.filter(stage=Stage.HANDED_OVER).select_related("warranty")
    return look("jobs: warranty lines follow the log", (_warranty_differs(job) for job in handed))


def _warranty_differs(job: Job) -> Iterator[str]:
    found = Warranty.objects.filter(job=job).prefetch_related("lines").first()
    if found is None:
        yield f"{job.number} was handed over without a warranty"
        return
    lines = list(found.lines.all())  # type: ignore[attr-defined]
    covered = sorted(line.entry_id for line in lines if line.entry_id)
    yield from differ(f"parts under warranty of {job.number}", covered, sorted(fit.pk for fit in sheet_of(job).fitted))
    for line in lines:
        if line.covered and (line.until_on is None or line.until_on < found.starts_on):
            yield f"warranty line “{line.text}” of {job.number} ends before it starts"


def reformings() -> Found:
    """The readings of each run count from 1 without a gap, and an ended run says what it came to."""
    runs = Reforming.objects.prefetch_related("readings").order_by("pk")
    return look("jobs: reform readings counted without gaps", (_reforming_differs(run) for run in runs))


def _reforming_differs(run: Reforming) -> Iterator[str]:
    numbers = sorted(reading.seq for reading in run.readings.all())  # type: ignore[attr-defined]
    if numbers != list(range(1, len(numbers) + 1)):
        yield f"readings of the {run} have gaps or doubles: {numbers}"
    if bool(run.outcome) != (run.ended_at is not None):
        yield f"the {run} is {'ended' if run.ended_at else 'open'} with the outcome “{run.outcome}”"


def photos() -> Found:
    """Every photo's file is in the shop's folder and has the fingerprint it was kept with."""
    return look("jobs: photos are as they were kept", (_photo_differs(one) for one in Photo.objects.select_related("job")))


def _photo_differs(photo: Photo) -> Iterator[str]:
    if not photo.image and photo.set_aside_why == ERASED:
        return
    name = f"photo “{photo}” of {photo.job.number}, kept {photo.at:%Y-%m-%d %H:%M},"
    found = digest_kept(photo.image)
    if not found:
        yield f"{name} has no file in the shop's folder: {photo.image.name}"
    elif photo.digest:
        yield from differ(f"{name} fingerprint", photo.digest, found)


def found_states() -> Found:
    """A locked found state is the fold of its photos' fingerprints, and none of them came after it."""
    rows = FoundState.objects.select_related("job")
    return look("jobs: found states are as they were locked", (_found_state_differs(one) for one in rows))


def _found_state_differs(locked: FoundState) -> Iterator[str]:
    photos = found_photos_then(locked)
    yield from differ(f"photos in the found state of {locked.job.number}", locked.photo_count, len(photos))
    yield from differ(f"fingerprint of the found state of {locked.job.number}", locked.digest, fold(one.digest for one in photos))
    if any(one.at > locked.at for one in photos):
        yield f"the found state of {locked.job.number} holds a photo that came after it was locked"


def claim_decisions() -> Found:
    """Every verdict on a claim follows again from its frozen case, and the case from the rows as far as they went then."""
    rows = ClaimDecision.objects.select_related("claim__warranty__job", "claim__job").order_by("pk")
    return look("jobs: verdicts on claims follow from the log", (_decision_differs(one) for one in rows))


def _decision_differs(decision: ClaimDecision) -> Iterator[str]:
    name = f"the decision of {decision.at:%Y-%m-%d %H:%M} on {decision.claim.job.number}"
    if decision.rules not in RULES:
        yield f"{name} was proposed by rules “{decision.rules}”, which nobody knows"
        return
    again = judge(ClaimCase.from_json(decision.case), decision.rules)
    yield from differ(f"proposal of {name}", decision.proposed, again.answer)
    if again.as_json() != decision.proposal:
        yield f"reasons of {name}: kept otherwise than its case gives them"
    as_of = AsOf(decision.finding_count, decision.log_seq, decision.at)
    if case_of(decision.claim, as_of).as_json() != decision.case:
        yield f"case of {name}: kept otherwise than its rows give it"


LOOKS: tuple[Looker, ...] = (
    stages,
    log_numbers,
    fitted_parts,
    fitted_movements,
    labour,
    estimates,
    consents,
    warranties,
    reformings,
    photos,
    found_states,
    claim_decisions,
)
