"""Estimates' only writer: drafted from the log, edited as a draft, frozen when sent, revised by a new version."""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from jobs.models import ApprovalLink, Estimate, EstimateLine, FlatTask, Job, Position, Stage
from jobs.models.estimate import EstimateLineKind, EstimateState
from jobs.queries.estimates import drawn_lines, drift_of, estimate_totals, gives_way, work_standing
from jobs.queries.sheet import sheet_of
from jobs.services import stages
from jobs.services.labour import charged_minutes, labour_price
from jobs.services.log import profile
from jobs.services.stages import open_job
from shop.acts import Refused, Stale
from shop.models import Profile, Staff
from shop.money import show

LARGEST_LINE_MINOR = 10**10
TYPED_ORDER = 200_000
FROM_LOG = "This line comes from the change log. Change the decision at its position, and the line follows."
SENDABLE_WHILE_WORKING = (Stage.AGREED, Stage.REPAIRING, Stage.PROVING)


def fingerprint(estimate: Estimate) -> str:
    """A fingerprint of exactly what the customer is asked to agree to."""
    lines = [
        f"{line.kind}|{line.text}|{line.count}|{line.low_minor}|{line.high_minor}|{line.tax_bp}" for line in estimate.lines.all()
    ]
    sums = [str(sum_minor) for sum_minor in (estimate.low_minor, estimate.high_minor, estimate.allowance_bp)]
    whole = "\n".join([str(estimate), estimate.currency, *sums, estimate.note, estimate.terms, *lines])
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
    """Draw the log's lines anew under today's terms. Typed lines stay, but for parts that the log has a price for."""
    _draft_only(estimate)
    terms, sheet = profile(), sheet_of(estimate.job)
    estimate.lines.filter(from_log=True).delete()
    typed = list(estimate.lines.all())
    for line in [line for line in typed if gives_way(line, sheet)]:
        typed.remove(line)
        line.delete()
    EstimateLine.objects.bulk_create(drawn_lines(estimate, typed, terms, sheet))
    _take_terms(estimate, typed, terms)
    retotal(estimate)


def _take_terms(estimate: Estimate, typed: list[EstimateLine], terms: Profile) -> None:
    """A draft follows the shop's terms; what is sent keeps those it was sent under."""
    estimate.currency, estimate.prices_include_tax = terms.currency, terms.prices_include_tax
    estimate.tax_rounding, estimate.allowance_bp = terms.tax_rounding, terms.allowance_bp
    estimate.terms = terms.terms
    estimate.save(update_fields=["currency", "prices_include_tax", "tax_rounding", "allowance_bp", "terms"])
    for line in typed:
        line.tax_bp = _tax_bp(line.kind, terms)
    EstimateLine.objects.bulk_update(typed, ["tax_bp"])


def _tax_bp(kind: str, terms: Profile) -> int:
    return terms.parts_tax_bp if kind == EstimateLineKind.PART else terms.labour_tax_bp


@dataclass(frozen=True, slots=True)
class TypedLine:
    """A line typed by hand. Time gives minutes from..to; a task its price; a fee or part its sums. All sums in minor units.

    A part may name the `position` it is for: the line then gives way as soon as the log has a price for that position.
    """

    kind: str
    text: str
    low_minutes: int = 0
    high_minutes: int = 0
    task: FlatTask | None = None
    low_minor: int = 0
    high_minor: int = 0
    position: Position | None = None


def _line_sums(typed: TypedLine, terms: Profile) -> tuple[int, int, int, int]:
    """Minutes, unit price (an hour of labour, else the low end), low and high of a typed line."""
    if typed.task is not None:
        return 0, typed.task.price_minor, typed.task.price_minor, typed.task.price_minor
    if typed.kind == EstimateLineKind.LABOUR:
        low, high = (
            charged_minutes(m, terms.minute_step) for m in (typed.low_minutes, max(typed.high_minutes, typed.low_minutes))
        )
        rate = terms.hour_rate_minor
        return high, rate, labour_price(low, rate), labour_price(high, rate)
    return 0, typed.low_minor, typed.low_minor, max(typed.high_minor, typed.low_minor)


def _check_line(estimate: Estimate, typed: TypedLine, low: int, high: int) -> None:
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
    if typed.position is not None and typed.position.job_id != estimate.job_id:
        raise Refused("This position belongs to another job. Load the page again.", field="position")


@transaction.atomic
def add_line(estimate: Estimate, typed: TypedLine, *, line: EstimateLine | None = None, seen: int | None = None) -> EstimateLine:
    """Add a typed line to a draft, or rewrite one that is there. The lines of the log are drawn anew with it."""
    _draft_only(estimate, seen)
    if line is not None and (line.from_log or line.estimate_id != estimate.pk):
        raise Refused(FROM_LOG if line.from_log else "This line belongs to another version. Load the page again.")
    terms = profile()
    minutes, unit, low, high = _line_sums(typed, terms)
    _check_line(estimate, typed, low, high)
    target = line or EstimateLine(estimate=estimate, order=TYPED_ORDER + estimate.lines.count())
    target.kind = EstimateLineKind.FLAT if typed.task else typed.kind
    target.text = (typed.text.strip() or (typed.task.name if typed.task else ""))[:200]
    target.minutes, target.unit_minor, target.low_minor, target.high_minor = minutes, unit, low, high
    target.position = typed.position
    target.tax_bp = _tax_bp(target.kind, terms)
    target.save()
    redraw(estimate)
    return target


@transaction.atomic
def remove_line(line: EstimateLine, *, seen: int | None = None) -> None:
    estimate = line.estimate
    _draft_only(estimate, seen)
    if line.from_log:
        raise Refused(FROM_LOG)
    line.delete()
    redraw(estimate)


@transaction.atomic
def set_note(estimate: Estimate, note: str, *, seen: int | None = None) -> None:
    _draft_only(estimate, seen)
    estimate.note = note.strip()[:4000]
    estimate.version += 1
    estimate.save(update_fields=["note", "version"])


def _draft_only(estimate: Estimate, seen: int | None = None) -> None:
    """Refuse a frozen version, or a draft that isn't the one this person saw."""
    current = Estimate.objects.select_for_update().get(pk=estimate.pk)
    if not current.is_draft:
        raise Stale(f"Version {current.number} was sent and is frozen. Draft a new version to change anything.", code="frozen")
    if seen is not None and seen != current.version:
        raise Stale(
            "Somebody else changed this draft since you opened it. What you typed is still here: look at the lines as they "
            "are now, then send it again.",
            code="changed",
        )
    estimate.version = current.version


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
    _check_sendable(current, terms)
    for older in job.estimates.filter(state=EstimateState.SENT):
        _close(older, EstimateState.SUPERSEDED, at)
    current.state, current.sent_at = EstimateState.SENT, at
    current.allowance_bp = terms.allowance_bp
    current.stands_until_on = timezone.localdate(at) + timedelta(days=terms.estimate_days)
    current.digest = fingerprint(current)
    current.save()
    if job.stage in SENDABLE_WHILE_WORKING:
        stages.waiting_for_approval(job, at)
    else:
        stages.perform(job, "send_estimate", person=person, at=at, note=f"version {current.number}")
    return current


def _check_sendable(estimate: Estimate, terms: Profile) -> None:
    if not estimate.lines.exists():
        raise Refused("An estimate needs at least one line: decide what is replaced, or add labour.", code="empty")
    if drift_of(estimate, terms).changes:
        raise Stale(
            "The change log has moved on since this draft was drawn. Draw it anew and look it over before it goes out.",
            code="moved_on",
        )
    work = work_standing(estimate)
    if work.is_short:
        worked, held = (show(minor, terms.currency, terms.locale) for minor in (work.worked_minor, work.high_minor))
        raise Refused(
            f"{worked} of work is logged already, and the lines of this estimate hold {held}. They name the whole work of the "
            "job, what is done included: raise them.",
            code="short_of_work",
        )


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
    days = max((current.stands_until_on - timezone.localdate(at)).days + 1, 1)
    ApprovalLink.objects.create(
        estimate=current, token_hash=token_hash(token), expires_at=at + timedelta(days=days), made_at=at, made_by=person
    )
    return token
