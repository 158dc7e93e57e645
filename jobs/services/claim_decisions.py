"""A person decides on a claim. Decisions are append-only; the newest counts.

A decision keeps the case and the proposal as they were, and plans what is planned at its places anew, so that estimate, guard and
bill read it off the log.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from django.db import transaction

from jobs.cover.case import ClaimCase
from jobs.cover.judging import judge
from jobs.cover.reasons import WORK, Proposal
from jobs.models import Claim, ClaimAnswer, ClaimDecision, CoveredPlace, Position
from jobs.queries.borne import borne_on
from jobs.queries.claim_case import case_of
from jobs.queries.claims import as_it_stands, stands_by_words
from jobs.services.claims import locked_claim, moved_on
from jobs.services.log import plan_anew
from shop.acts import Refused
from shop.models import Staff


@dataclass(frozen=True, slots=True)
class Decided:
    """`shares`: per cent that the shop bears, by key of the position, None for the work; asked where it is partly covered."""

    answer: str
    why: str = ""
    goodwill: bool = False
    shares: Mapping[int | None, int] = field(default_factory=dict)


@transaction.atomic
def decide(claim: Claim, decided: Decided, *, person: Staff, at: datetime, seen: int | None = None) -> ClaimDecision:
    """A person decides. Another answer than the proposed one, or one before all is known, says why."""
    job, current = locked_claim(claim, seen)
    as_of = as_it_stands(current, at)
    case = case_of(current, as_of)
    proposal = judge(case)
    before = borne_on(job)
    places = _places(current, case, decided)
    coverable = {WORK, *(one.designator for one in _positions(current, case))}
    _check_decision(proposal, decided, {name: share for name, _, share in places}, coverable)
    made = ClaimDecision.objects.create(
        claim=current,
        proposed=proposal.answer,
        decided=decided.answer,
        goodwill=decided.goodwill,
        why=" ".join(decided.why.split())[:300],
        rules=proposal.rules,
        case=case.as_json(),
        proposal=proposal.as_json(),
        finding_count=as_of.finding_count,
        log_seq=as_of.log_seq,
        at=at,
        person=person,
    )
    reason = stands_by_words(current.warranty.job, goodwill=decided.goodwill)
    CoveredPlace.objects.bulk_create(
        CoveredPlace(decision=made, position=position, share_percent=share, reason=reason) for _, position, share in places
    )
    moved_on(current, claim)
    touched = {*before.places, *(position.pk if position else None for _, position, _ in places)}
    plan_anew(job, touched, person=person, at=at)
    return made


Covered = tuple[str, Position | None, int]


def _places(claim: Claim, case: ClaimCase, decided: Decided) -> list[Covered]:
    """(designator, position, share): every place found and the work where all is covered, else those with a share."""
    if decided.answer not in ClaimAnswer.values:
        raise Refused("Choose what is decided.", field="answer")
    if decided.answer == ClaimAnswer.CHARGEABLE:
        return []
    if not case.findings:
        raise Refused("Write down first what was found: a claim is covered place by place.", field="answer", code="no_finding")
    positions = _positions(claim, case)
    if decided.answer == ClaimAnswer.COVERED:
        return [*((one.designator, one, 100) for one in positions), (WORK, None, 100)]
    listed: list[Covered] = [(one.designator, one, decided.shares.get(one.pk, 0)) for one in positions]
    listed.append((WORK, None, decided.shares.get(None, 0)))
    if any(not 0 <= share <= 100 for _, _, share in listed):
        raise Refused("A share lies between 0 and 100 %.", field="answer")
    found = [one for one in listed if one[2]]
    if not found:
        raise Refused("Partly covered: say at which place, or how much of the work, the shop bears.", field="answer")
    return found


def _positions(claim: Claim, case: ClaimCase) -> list[Position]:
    names = {one.designator for one in case.findings if one.designator}
    return list(claim.job.positions.filter(designator__in=names).order_by("order", "pk"))  # type: ignore[attr-defined]


def _check_decision(proposal: Proposal, decided: Decided, shares: Mapping[str, int], coverable: set[str]) -> None:
    if decided.goodwill and decided.answer == ClaimAnswer.CHARGEABLE:
        raise Refused("Goodwill bears something: choose covered or partly covered, or take the tick out.", field="goodwill")
    if decided.goodwill and proposal.answer == ClaimAnswer.COVERED:
        raise Refused("By the log this is owed, so it isn't goodwill. Take the tick out.", field="goodwill")
    if decided.why.strip():
        return
    if decided.goodwill:
        raise Refused("Say why the shop bears what it doesn't owe.", field="why")
    if decided.answer != proposal.answer:
        raise Refused(
            f"Proposed was “{ClaimAnswer(proposal.answer).label.lower()}”. Say why it is decided otherwise.", field="why"
        )
    if proposal.is_open:
        raise Refused("Something is still open above. Inspect first, or say why it is decided already.", field="why")
    if shares != {one.designator: one.share for one in proposal.places if one.designator in coverable}:
        raise Refused("Another share is proposed. Say why it is decided otherwise.", field="why")
