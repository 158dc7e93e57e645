"""Consents' only writer: the customer's yes or no, to exactly one version, by whichever way it came."""

from dataclasses import dataclass, replace
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from jobs.models import Alternative, ApprovalLink, Consent, Deposit, Estimate, Job, Stage
from jobs.models.estimate import ConsentAnswer, ConsentHow, EstimateState, PayBy
from jobs.services import stages
from jobs.services.log import profile
from jobs.services.stages import lock_job, open_job
from shop.acts import Refused, Stale
from shop.jurisdictions import CHECK, Rules
from shop.models import Staff
from shop.money import show
from shop.place import rules_of


@dataclass(frozen=True, slots=True)
class Answer:
    """What the customer said. `person` is the member of staff who wrote it down; None where it came by the private page.

    `answered_at` is when it was said, where it is only written down later. `tier` is the alternative chosen, where the version
    offers some. `cancellation_told`: of the right to cancel; `begin_at_once`: they asked for work to
    begin before that ends.
    """

    agreed: bool
    how: str
    who: str
    number_called: str = ""
    note: str = ""
    person: Staff | None = None
    answered_at: datetime | None = None
    tier: int = 0
    cancellation_told: bool = False
    begin_at_once: bool = False

    @property
    def at_a_distance(self) -> bool:
        """Agreed to without both being in the shop: then a right to cancel may hang on it."""
        return self.agreed and self.how != ConsentHow.IN_PERSON


def _check(answer: Answer) -> None:
    if answer.how not in ConsentHow.values:
        raise Refused("Choose how the customer answered.", field="how")
    if len(answer.who.strip()) < 2:
        raise Refused("Write the name of the person who answered.", field="who")
    if answer.how == ConsentHow.SPOKEN and not answer.number_called.strip():
        raise Refused(
            "Write the telephone number that was called: a spoken consent is worth what can be shown of it.",
            field="number_called",
        )


def _as_the_place_wants(answer: Answer, rules: Rules) -> None:
    """What the rules want kept of a consent beyond what every record here holds."""
    if "receiver" in rules.consent.codes and answer.person is None and answer.how != ConsentHow.LINK:
        raise Refused("Say who of the shop took the answer.", code="no_receiver")
    if "own_words" in rules.consent.codes and answer.how != ConsentHow.LINK and answer.agreed and not answer.note.strip():
        raise Refused("The rules you work by want the customer's own words. Write them down.", field="note")
    days = rules.cancellation.days
    if days and answer.at_a_distance and not answer.cancellation_told:
        raise Refused(
            f"Agreed at a distance, so the customer may cancel within {days} days, and must be told. Tell them, then tick that "
            f"you did ({rules.cancellation.source.citation}; {CHECK}).",
            field="cancellation_told",
        )


@transaction.atomic
def record_answer(estimate: Estimate, answer: Answer, *, at: datetime, digest: str | None = None) -> Consent:
    """Record the answer to a sent version and move the job on. `digest` is what the customer had on the page, where known."""
    _check(answer)
    job = open_job(estimate.job)
    current = Estimate.objects.select_for_update().get(pk=estimate.pk)
    answered_at = answer.answered_at or at
    _check_version(current, answered_at, digest)
    _check_moment(current, answered_at, at)
    rules = rules_of(profile())
    _as_the_place_wants(answer, rules)
    chosen = _chosen(current, answer) if answer.agreed else None
    agreed_minor = chosen.high_minor if chosen else current.high_minor
    consent = Consent.objects.create(
        job=job,
        estimate=current,
        answer=ConsentAnswer.AGREED if answer.agreed else ConsentAnswer.DECLINED,
        how=answer.how,
        who=answer.who.strip()[:120],
        number_called=answer.number_called.strip()[:40],
        to_what=_to_what(current, chosen),
        digest=current.digest,
        ceiling_minor=agreed_minor if answer.agreed else 0,
        allowance_bp=current.allowance_bp if answer.agreed else 0,
        tier=chosen.tier if chosen else 0,
        cancellation_told=bool(rules.cancellation.days) and answer.at_a_distance and answer.cancellation_told,
        begin_at_once=bool(rules.cancellation.days) and answer.at_a_distance and answer.begin_at_once,
        note=answer.note.strip()[:300],
        at=answered_at,
        person=answer.person,
    )
    current.state = EstimateState.AGREED if answer.agreed else EstimateState.DECLINED
    current.save(update_fields=["state"])
    _move_on(job, answer, at)
    return consent


def _check_version(current: Estimate, at: datetime, digest: str | None) -> None:
    if current.state == EstimateState.SUPERSEDED:
        raise Stale("This version was replaced by a newer one. Record the answer to the newest version.", code="superseded")
    if current.state != EstimateState.SENT:
        raise Stale(f"Version {current.number} was answered already.", code="answered")
    if current.stands_until_on is not None and timezone.localdate(at) > current.stands_until_on:
        raise Refused(
            f"Version {current.number} stood until {current.stands_until_on:%d %B %Y}. Send a new version.", code="expired"
        )
    if digest is not None and digest != current.digest:
        raise Stale("The estimate on your page isn't the one that stands. Load the page again.", code="changed")


def _check_moment(current: Estimate, answered_at: datetime, at: datetime) -> None:
    if answered_at > at:
        raise Refused("The moment of the answer lies in the future.", field="answered_at")
    if current.sent_at is not None and answered_at < current.sent_at:
        raise Refused(f"Version {current.number} wasn't with the customer yet at that moment.", field="answered_at")


def _chosen(estimate: Estimate, answer: Answer) -> Alternative | None:
    """The alternative agreed to: exactly one where the version offers some, none where it doesn't."""
    offered = {one.tier: one for one in estimate.alternatives.all()}  # type: ignore[attr-defined]
    if not offered and answer.tier:
        raise Stale("This estimate offers no alternatives. Load the page again.", code="changed")
    if offered and answer.tier not in offered:
        raise Refused("Choose which of the alternatives is agreed to.", field="tier", code="no_choice")
    return offered.get(answer.tier)


def _to_what(estimate: Estimate, chosen: Alternative | None) -> str:
    of = chosen or estimate
    low, high = (show(minor, estimate.currency) for minor in (of.low_minor, of.high_minor))
    sum_text = f"{low} to {high}" if of.low_minor != of.high_minor else high
    name = f", “{chosen.name}”" if chosen else ""
    because = f"; because: {estimate.because}" if estimate.because else ""
    return f"estimate {estimate.job.number} version {estimate.number}{name}, {sum_text} with tax{because}"[:300]


def _move_on(job: Job, answer: Answer, at: datetime) -> None:
    if job.stage == Stage.AWAITING_CONSENT:
        code = "agree" if answer.agreed else "decline"
        stages.perform(job, code, person=answer.person, at=at, note=f"{answer.who}, {ConsentHow(answer.how).label}")
    else:
        stages.no_longer_waiting(job)


@transaction.atomic
def agree_sum(job: Job, amount_minor: int, what: str, answer: Answer, *, at: datetime) -> Consent:
    """A sum agreed at the counter without an estimate, such as the inspection fee."""
    _check(answer)
    if amount_minor <= 0:
        raise Refused("The sum agreed to must be above nothing.", field="inspection_fee")
    terms = profile()
    return Consent.objects.create(
        job=job,
        answer=ConsentAnswer.AGREED,
        how=answer.how,
        who=answer.who.strip()[:120],
        to_what=f"{what}, {show(amount_minor, terms.currency)} with tax"[:300],
        ceiling_minor=amount_minor,
        at=at,
        person=answer.person,
    )


@transaction.atomic
def answer_by_link(link: ApprovalLink, answer: Answer, *, at: datetime, digest: str) -> Consent:
    current = ApprovalLink.objects.select_for_update().get(pk=link.pk)
    if current.revoked_at is not None or current.expires_at <= at:
        raise Stale("This link is no longer valid. Please ask the workshop for a new one.", code="dead_link")
    # The private page itself tells of the right to cancel.
    return record_answer(current.estimate, replace(answer, cancellation_told=True), at=at, digest=digest)


@transaction.atomic
def give_back_deposit(job: Job, amount_minor: int, how: str, *, left_minor: int, person: Staff, at: datetime) -> Deposit:
    """Give a deposit back where no bill will use it. `left_minor` is what no invoice has set off (billing knows)."""
    current = lock_job(job)
    if not 0 < amount_minor <= left_minor:
        raise Refused("That is more than what is left of the deposit.", field="amount")
    if how not in PayBy.values:
        raise Refused("Choose how the deposit was given back.", field="how")
    return Deposit.objects.create(job=current, amount_minor=amount_minor, given_back=True, how=how, at=at, person=person)


@transaction.atomic
def take_deposit(job: Job, amount_minor: int, how: str, *, person: Staff, at: datetime) -> Deposit:
    current = open_job(job)
    if amount_minor <= 0:
        raise Refused("A deposit must be above nothing.", field="deposit")
    if how not in PayBy.values:
        raise Refused("Choose how the deposit was paid.", field="deposit_how")
    return Deposit.objects.create(job=current, amount_minor=amount_minor, how=how, at=at, person=person)
