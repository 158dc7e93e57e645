"""A draft is frozen and goes out: its fingerprint, taking it back."""

import hashlib
from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from jobs.models import Estimate, Forecast, Stage
from jobs.models.estimate import EstimateState
from jobs.queries.estimates import drift_of, work_standing
from jobs.queries.evidence import findings_of, struck_findings
from jobs.queries.learned import Expected
from jobs.services import stages
from jobs.services.log import profile
from jobs.services.stages import open_job
from shop.acts import Refused, Stale
from shop.models import Profile, Staff
from shop.money import show
from shop.place import allowance_of

SENDABLE_WHILE_WORKING = (Stage.AGREED, Stage.REPAIRING, Stage.PROVING)


def fingerprint(estimate: Estimate) -> str:
    """A fingerprint of exactly what the customer is asked to agree to."""
    lines = [
        f"{line.kind}|{line.text}|{line.count}|{line.low_minor}|{line.high_minor}|{line.tax_bp}"
        for line in estimate.lines.all()  # type: ignore[attr-defined]
    ]
    sums = [str(sum_minor) for sum_minor in (estimate.low_minor, estimate.high_minor, estimate.allowance_bp)]
    more = [*_choices(estimate), *_reasons(estimate)]
    whole = "\n".join([str(estimate), estimate.currency, *sums, estimate.note, estimate.terms, *lines, *more])
    return hashlib.sha256(whole.encode()).hexdigest()


def _choices(estimate: Estimate) -> Iterator[str]:
    """Nothing for a version that is answered as a whole: those sent before there were alternatives keep their fingerprint."""
    for one in estimate.alternatives.all():  # type: ignore[attr-defined]
        yield f"alternative|{one.tier}|{one.name}|{one.text}|{one.low_minor}|{one.high_minor}"
    for number, line in enumerate(estimate.lines.all()):  # type: ignore[attr-defined]
        if line.tier:
            yield f"line|{number}|{line.tier}"
    for place in estimate.position_tiers.order_by("position_id"):  # type: ignore[attr-defined]
        yield f"position|{place.position_id}|{place.tier}"


def _reasons(estimate: Estimate) -> Iterator[str]:
    if estimate.because:
        yield f"because|{estimate.because}"
    for finding in findings_of(estimate):
        photos = ",".join(str(photo.pk) for photo in finding.photos)
        yield f"finding|{finding.entry.seq}|{finding.text}|{photos}"


@transaction.atomic
def send(
    estimate: Estimate, *, person: Staff, at: datetime, seen: int | None = None, expected: Expected | None = None
) -> Estimate:
    """Freeze a draft. Older versions that are still with the customer are replaced, and their links die.

    `expected` is what past jobs say that it will come to (`jobs.queries.learned.expected_of`); it is kept with the version.
    """
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
    current.allowance_bp = allowance_of(terms)
    current.stands_until_on = timezone.localdate(at) + timedelta(days=terms.estimate_days)
    current.digest = fingerprint(current)
    current.save()
    if job.stage in SENDABLE_WHILE_WORKING:
        stages.waiting_for_approval(job, at)
    else:
        stages.perform(job, "send_estimate", person=person, at=at, note=f"version {current.number}")
    if expected is not None:
        _keep(expected, current, person, at)
    return current


def _keep(expected: Expected, estimate: Estimate, person: Staff, at: datetime) -> None:
    Forecast.objects.create(
        job=estimate.job,
        estimate=estimate,
        from_jobs=expected.from_jobs,
        low_minor=expected.low_minor,
        median_minor=expected.median_minor,
        high_minor=expected.high_minor,
        facts=expected.facts,
        at=at,
        person=person,
    )


def _check_sendable(estimate: Estimate, terms: Profile) -> None:
    if not estimate.lines.exists():
        raise Refused("An estimate needs at least one line: decide what is replaced, or add labour.", code="empty")
    _check_alternatives(estimate)
    if drift_of(estimate, terms).changes:
        raise Stale(
            "The change log has moved on since this draft was drawn. Draw it anew and look it over before it goes out.",
            code="moved_on",
        )
    struck = struck_findings(estimate)
    if struck:
        raise Stale(
            f"Entry no. {struck[0].seq}, which this version gives as its reason, was corrected or taken back since. "
            "Take it off, and name the one that stands.",
            code="moved_on",
        )
    _check_work(estimate, terms)


def _check_work(estimate: Estimate, terms: Profile) -> None:
    work = work_standing(estimate)
    if not work.is_short:
        return
    worked, held = (show(minor, terms.currency, terms.locale) for minor in (work.worked_minor, work.high_minor))
    smallest = estimate.alternatives.first()  # type: ignore[attr-defined]
    what = f"“{smallest.name}”" if smallest else "this estimate"
    raise Refused(
        f"{worked} of work is logged already, and the lines of {what} hold {held}. They name the whole work of the "
        "job, what is done included: raise them.",
        code="short_of_work",
    )


def _check_alternatives(estimate: Estimate) -> None:
    """Each must be a choice: there are two at least, and each larger one holds something of its own."""
    offered = list(estimate.alternatives.all())  # type: ignore[attr-defined]
    if not offered:
        return
    if len(offered) == 1:
        raise Refused(
            f"“{offered[0].name}” alone is no choice. Add another alternative, or take this one away: the estimate is then "
            "answered as a whole.",
            code="one_alternative",
        )
    tiers = {max(line.tier, 1) for line in estimate.lines.all()}  # type: ignore[attr-defined]
    for one in offered:
        if one.tier not in tiers:
            words = "holds nothing that the smaller one doesn't" if one.tier > 1 else "holds no line"
            raise Refused(f"“{one.name}” {words}. Put a line into it, or take it away.", code="empty_alternative")


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
