"""Estimates' only writer: drafted from the log, edited as a draft, frozen when sent, revised by a new version."""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction

from jobs.models import ApprovalLink, Estimate, EstimateLine, FlatTask, Job, Stage
from jobs.models.estimate import EstimateLineKind, EstimateState
from jobs.queries.exposure import standing_labour
from jobs.queries.estimates import estimate_totals
from jobs.queries.sheet import PositionState, sheet_of
from jobs.services import stages
from jobs.services.labour import charged_minutes, labour_price
from jobs.services.log import profile
from jobs.services.stages import open_job
from shop.acts import Refused, Stale
from shop.models import Profile, Staff

LARGEST_LINE_MINOR = 10**10
SENDABLE_WHILE_WORKING = (Stage.AGREED, Stage.REPAIRING, Stage.PROVING)


def _digest(estimate: Estimate) -> str:
    """A fingerprint of exactly what the customer is asked to agree to."""
    lines = [f"{line.kind}|{line.text}|{line.count}|{line.low_minor}|{line.high_minor}|{line.tax_bp}" for line in estimate.lines.all()]
    whole = "\n".join([str(estimate), estimate.currency, str(estimate.low_minor), str(estimate.high_minor), estimate.note, *lines])
    return hashlib.sha256(whole.encode()).hexdigest()


@transaction.atomic
def draft(job: Job, *, person: Staff, at: datetime) -> Estimate:
    """The job's draft: the one there is, redrawn from the log, or a new version with the lines typed by hand carried over."""
    current, terms = open_job(job), profile()
    existing = current.estimates.filter(state=EstimateState.DRAFT).first()
    if existing is not None:
        redraw(existing)
        return existing
    last = current.estimates.order_by("-number").first()
    made = Estimate.objects.create(
        job=current,
        number=last.number + 1 if last else 1,
        currency=terms.currency,
        prices_include_tax=terms.prices_include_tax,
        tax_rounding=terms.tax_rounding,
        allowance_bp=terms.allowance_bp,
        note=last.note if last else "",
        made_at=at,
        made_by=person,
    )
    _carry_over(last, made)
    redraw(made)
    return made


def _carry_over(last: Estimate | None, made: Estimate) -> None:
    if last is None:
        return
    for line in last.lines.filter(from_log=False):
        line.pk, line.estimate = None, made
        line.save()


@transaction.atomic
def redraw(estimate: Estimate) -> None:
    """Draw the log's lines anew: a part for each position that is replaced, planned or fitted. Typed lines stay."""
    _draft_only(estimate)
    terms = profile()
    estimate.lines.filter(from_log=True).delete()
    sheet = sheet_of(estimate.job)
    lines = [line for row in sheet.rows for line in _part_lines(estimate, row, terms)]
    EstimateLine.objects.bulk_create(lines)
    _labour_from_log(estimate, terms)
    retotal(estimate)


def _part_lines(estimate: Estimate, row: PositionState, terms: Profile) -> list[EstimateLine]:
    lines = []
    for fit in row.fitted:
        if fit.charged:
            lines.append(_part_line(estimate, row, fit.text, fit.count, fit.unit_price_minor or 0, terms))
    if row.to_fit and row.decided is not None:
        decided = row.decided
        text = decided.part.title if decided.part else f"{row.role_label.lower()} {row.called}".strip()
        lines.append(_part_line(estimate, row, text, decided.count, decided.unit_price_minor or 0, terms))
    return lines


def _part_line(estimate: Estimate, row: PositionState, text: str, count: int, unit_minor: int, terms: Profile) -> EstimateLine:
    amount = unit_minor * count
    return EstimateLine(
        estimate=estimate,
        order=row.position.order + 1,
        kind=EstimateLineKind.PART,
        position=row.position,
        text=text[:200],
        count=count,
        unit_minor=unit_minor,
        low_minor=amount,
        high_minor=amount,
        tax_bp=terms.parts_tax_bp,
        from_log=True,
    )


def _labour_from_log(estimate: Estimate, terms: Profile) -> None:
    """Labour already logged and charged, one line a step, so that a revision holds what was worked so far."""
    sums: dict[str, list[int]] = {}
    for entry in standing_labour(estimate.job):
        if not entry.billed_minor:
            continue
        label = entry.task.name if entry.task else entry.get_step_display()
        sums.setdefault(label, []).append(entry.billed_minor)
    for order, (label, amounts) in enumerate(sums.items()):
        EstimateLine.objects.create(
            estimate=estimate,
            order=100_000 + order,
            kind=EstimateLineKind.LABOUR,
            text=f"{label} (done so far)",
            low_minor=sum(amounts),
            high_minor=sum(amounts),
            unit_minor=sum(amounts),
            tax_bp=terms.labour_tax_bp,
            from_log=True,
        )


@dataclass(frozen=True, slots=True)
class TypedLine:
    """A line typed by hand. Time gives minutes from..to; a task its price; a fee or part its sums. All sums in minor units."""

    kind: str
    text: str
    low_minutes: int = 0
    high_minutes: int = 0
    task: FlatTask | None = None
    low_minor: int = 0
    high_minor: int = 0


def _line_sums(typed: TypedLine, terms: Profile) -> tuple[int, int, int]:
    """Minutes, low and high of a typed line."""
    if typed.task is not None:
        return 0, typed.task.price_minor, typed.task.price_minor
    if typed.kind == EstimateLineKind.LABOUR:
        low, high = (charged_minutes(m, terms.minute_step) for m in (typed.low_minutes, max(typed.high_minutes, typed.low_minutes)))
        return high, labour_price(low, terms.hour_rate_minor), labour_price(high, terms.hour_rate_minor)
    return 0, typed.low_minor, max(typed.high_minor, typed.low_minor)


def _check_line(typed: TypedLine, low: int, high: int) -> None:
    if typed.kind not in EstimateLineKind.values:
        raise Refused("Choose what kind of line this is.", field="kind")
    if typed.task is None and not typed.text.strip():
        raise Refused("Say what the line is for.", field="text")
    if low < 0 or typed.low_minutes < 0:
        raise Refused("A line of an estimate can't be below nothing.", field="low")
    if high > LARGEST_LINE_MINOR:
        raise Refused("That sum is larger than any line this shop can book.", field="high")
    if typed.kind == EstimateLineKind.LABOUR and typed.task is None and typed.low_minutes == 0 and typed.high_minutes == 0:
        raise Refused("Enter the time this work will take.", field="low_minutes")


@transaction.atomic
def add_line(estimate: Estimate, typed: TypedLine, *, line: EstimateLine | None = None) -> EstimateLine:
    """Add a typed line to a draft, or rewrite one that is there."""
    _draft_only(estimate)
    terms = profile()
    minutes, low, high = _line_sums(typed, terms)
    _check_line(typed, low, high)
    target = line or EstimateLine(estimate=estimate, order=200_000 + estimate.lines.count())
    target.kind = EstimateLineKind.FLAT if typed.task else typed.kind
    target.text = (typed.text or (typed.task.name if typed.task else ""))[:200]
    target.minutes, target.low_minor, target.high_minor = minutes, low, high
    target.unit_minor = low
    target.tax_bp = terms.parts_tax_bp if typed.kind == EstimateLineKind.PART else terms.labour_tax_bp
    target.save()
    retotal(estimate)
    return target


@transaction.atomic
def remove_line(line: EstimateLine) -> None:
    _draft_only(line.estimate)
    if line.from_log:
        raise Refused("This line comes from the change log. Change the decision at its position, and the line follows.")
    estimate = line.estimate
    line.delete()
    retotal(estimate)


@transaction.atomic
def set_note(estimate: Estimate, note: str) -> None:
    _draft_only(estimate)
    Estimate.objects.filter(pk=estimate.pk).update(note=note[:4000])


def _draft_only(estimate: Estimate) -> None:
    current = Estimate.objects.select_for_update().get(pk=estimate.pk)
    if not current.is_draft:
        raise Stale(f"Version {current.number} was sent and is frozen. Draft a new version to change anything.", code="frozen")


def retotal(estimate: Estimate) -> None:
    low, high = estimate_totals(estimate)
    estimate.low_minor, estimate.high_minor = low.gross_minor, high.gross_minor
    estimate.version += 1
    estimate.save(update_fields=["low_minor", "high_minor", "version"])


@transaction.atomic
def send(estimate: Estimate, *, person: Staff, at: datetime, seen: int | None = None) -> Estimate:
    """Freeze a draft. Older versions that are still with the customer are replaced, and their links die."""
    job, terms = open_job(estimate.job), profile()
    current = Estimate.objects.select_for_update().get(pk=estimate.pk)
    if not current.is_draft:
        raise Stale(f"Version {current.number} was sent already.", code="frozen")
    if seen is not None and seen != current.version:
        raise Stale("The draft was changed since you opened it. Look it over again before it goes out.")
    if not current.lines.exists():
        raise Refused("An estimate needs at least one line: decide what is replaced, or add labour.", code="empty")
    for older in job.estimates.filter(state=EstimateState.SENT):
        _close(older, EstimateState.SUPERSEDED, at)
    current.state, current.sent_at = EstimateState.SENT, at
    current.allowance_bp = terms.allowance_bp
    current.stands_until_on = (at + timedelta(days=terms.estimate_days)).date()
    current.digest = _digest(current)
    current.save()
    if job.stage in SENDABLE_WHILE_WORKING:
        stages.waiting_for_approval(job, at)
    else:
        stages.perform(job, "send_estimate", person=person, at=at, note=f"version {current.number}")
    return current


def _close(estimate: Estimate, state: str, at: datetime) -> None:
    estimate.state = state
    estimate.save(update_fields=["state"])
    estimate.links.filter(revoked_at__isnull=True).update(revoked_at=at)


@transaction.atomic
def recall(estimate: Estimate, *, person: Staff, at: datetime) -> None:
    """Take a sent version back before the customer has answered."""
    job = open_job(estimate.job)
    current = Estimate.objects.select_for_update().get(pk=estimate.pk)
    if current.state != EstimateState.SENT:
        raise Stale(f"Version {current.number} isn't with the customer any more.")
    _close(current, EstimateState.SUPERSEDED, at)
    if job.stage == Stage.AWAITING_CONSENT:
        stages.perform(job, "recall_estimate", person=person, at=at, note=f"version {current.number}")
    else:
        stages.no_longer_waiting(job)


def token_hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def make_link(estimate: Estimate, *, person: Staff, at: datetime) -> str:
    """A private link to one sent version: the token is given back once and kept as a hash only. Older links of it die."""
    current = Estimate.objects.select_for_update().get(pk=estimate.pk)
    if current.state != EstimateState.SENT or current.stands_until_on is None:
        raise Refused("Only an estimate that is with the customer has a link. Send it first.", code="not_sent")
    current.links.filter(revoked_at__isnull=True).update(revoked_at=at)
    token = secrets.token_urlsafe(32)
    days = max((current.stands_until_on - at.date()).days + 1, 1)
    ApprovalLink.objects.create(
        estimate=current, token_hash=token_hash(token), expires_at=at + timedelta(days=days), made_at=at, made_by=person
    )
    return token


