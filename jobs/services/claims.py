"""Claims' only writer: a set came back, what was found on it, what was decided.

Findings and decisions are append-only; the newest decision counts. A decision keeps the case and the proposal as they were, and
plans what is planned at its places anew, so that estimate, guard and bill read it off the log.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db import transaction
from django.utils.timezone import localdate

from jobs.cover.case import ClaimCase
from jobs.cover.judging import judge
from jobs.cover.reasons import WORK, Proposal
from jobs.documents.warranty import VOID_RULES
from jobs.models import (
    Cause,
    Claim,
    ClaimAnswer,
    ClaimDecision,
    ClaimFinding,
    CoveredPlace,
    Job,
    LogEntry,
    Position,
    SameFault,
    Warranty,
    WarrantyLine,
)
from jobs.queries.borne import borne_on
from jobs.queries.claim_case import case_of, findings_upto, place_of, standing_findings
from jobs.queries.claims import as_it_stands, stands_by_words
from jobs.services.log import plan_anew
from jobs.services.log.writing import check_text
from jobs.services.stages import open_job
from shop.acts import Refused, Stale
from shop.models import Staff


@dataclass(frozen=True, slots=True)
class FindingFacts:
    """What was found, and what it has to do with the warranty; `entry` is the entry of the claim's log that shows it."""

    text: str
    same_fault: str = SameFault.UNSURE
    cause: str = Cause.UNKNOWN
    line: WarrantyLine | None = None
    position: Position | None = None
    entry: LogEntry | None = None
    void_rule: str = ""


@dataclass(frozen=True, slots=True)
class Decided:
    """`shares`: per cent that the shop bears, by key of the position, None for the work; asked where it is partly covered."""

    answer: str
    why: str = ""
    goodwill: bool = False
    shares: Mapping[int | None, int] = field(default_factory=dict)


def void_rules_of(warranty: Warranty) -> tuple[str, ...]:
    """What ends the cover by the record as it was given out; the usual rules for one from before they were frozen."""
    return tuple((warranty.terms or {}).get("void_rules") or VOID_RULES)


@transaction.atomic
def open_claim(job: Job, earlier: Job, *, claimed_on: date, person: Staff, at: datetime) -> Claim:
    """The job is a claim under the warranty of an earlier job on the same set, whether that still runs or not."""
    current = open_job(job)
    warranty = Warranty.objects.filter(job=earlier).first()
    if warranty is None:
        raise Refused(f"Job {earlier.number} has no warranty, so nothing can be claimed under it.", field="came_back")
    if earlier.radio_id != current.radio_id or earlier.pk == current.pk:
        raise Refused("That warranty is of another set. Choose one of this set's earlier jobs.", field="warranty")
    if claimed_on > localdate(at):
        raise Refused("The day of the claim lies in the future.", field="claimed_on")
    known = Claim.objects.select_for_update().filter(job=current).first()
    if known is not None:
        # The day and the warranty that a verdict was given by don't move under it.
        _refuse_settled(known)
    claim = known or Claim(job=current, version=0)
    claim.warranty, claim.claimed_on, claim.at, claim.person = warranty, claimed_on, at, person
    claim.version += 1
    claim.save()
    current.warranty_of = earlier
    _touch(current, job, "warranty_of")
    return claim


@transaction.atomic
def drop_claim(claim: Claim, *, seen: int | None = None) -> None:
    """It isn't a claim after all; only while nothing was found or decided."""
    job, current = _locked(claim, seen)
    _refuse_settled(current)
    if not current.findings.exists():  # type: ignore[attr-defined]
        current.delete()
    job.warranty_of = None
    _touch(job, claim.job, "warranty_of")


def _refuse_settled(claim: Claim) -> None:
    if claim.decisions.exists():  # type: ignore[attr-defined]
        raise Refused("This claim was decided. A new decision can still change that.", code="decided")
    if standing_findings(findings_upto(claim)):
        raise Refused("Something was found on this claim already. Take the findings back first.", code="findings")


def _touch(current: Job, shown: Job, *fields: str) -> None:
    current.version += 1
    current.save(update_fields=[*fields, "version"])
    shown.refresh_from_db()


def _locked(claim: Claim, seen: int | None) -> tuple[Job, Claim]:
    """The job's row is locked first, as everywhere."""
    job = open_job(claim.job)
    current = Claim.objects.select_for_update().filter(pk=claim.pk).first()
    if current is None or job.warranty_of_id is None:
        raise Stale(f"Job {job.number} isn't a claim any more. Load the page again.")
    if seen is not None and seen != current.version:
        raise Stale(
            "Somebody else wrote on this claim since you opened it. What you typed is still here: look at the findings and the "
            "proposal as they are now, then send it again."
        )
    current.job = job
    return job, current


def _moved_on(claim: Claim, shown: Claim) -> None:
    claim.version += 1
    claim.save(update_fields=["version"])
    shown.version = claim.version


@transaction.atomic
def add_finding(
    claim: Claim, facts: FindingFacts, *, person: Staff, at: datetime, corrects: ClaimFinding | None = None
) -> ClaimFinding:
    """Write down one thing that was found; with `corrects`, in place of an earlier one."""
    job, current = _locked(claim, None)
    _check(current, facts)
    if corrects is not None:
        _still_stands(current, corrects)
    position = facts.position or _position_named(job, facts.line)
    made = ClaimFinding.objects.create(
        claim=current,
        line=facts.line or _only_line(current, position),
        position=position,
        entry=facts.entry,
        text=check_text(facts.text, "text", "what was found"),
        same_fault=facts.same_fault,
        cause=facts.cause,
        void_rule=facts.void_rule,
        corrects=corrects,
        at=at,
        person=person,
    )
    _moved_on(current, claim)
    return made


def _check(claim: Claim, facts: FindingFacts) -> None:
    if facts.same_fault not in SameFault.values:
        raise Refused("Choose whether it is the same fault.", field="same_fault")
    if facts.cause not in Cause.values:
        raise Refused("Choose the cause from the list.", field="cause")
    if facts.line is not None and facts.line.warranty_id != claim.warranty_id:
        raise Refused("That line is of another warranty. Choose one of this claim's.", field="line")
    if facts.position is not None and facts.position.job_id != claim.job_id:
        raise Refused("That position is of another job. Choose one of this job's.", field="position")
    if facts.entry is not None and (facts.entry.job_id != claim.job_id or facts.entry.withdrawn):
        raise Refused("That entry isn't one of this job's log that stands. Choose another.", field="entry")
    if facts.entry is not None and LogEntry.objects.filter(corrects=facts.entry).exists():
        raise Stale("That entry was corrected or taken back meanwhile. Choose the one that stands.")
    if facts.void_rule and facts.void_rule not in void_rules_of(claim.warranty):
        raise Refused("Choose one of the rules that the warranty itself names.", field="void_rule")


def _position_named(job: Job, line: WarrantyLine | None) -> Position | None:
    name = place_of(line) if line is not None else ""
    return job.positions.filter(designator=name).first() if name else None  # type: ignore[attr-defined, no-any-return]


def _only_line(claim: Claim, position: Position | None) -> WarrantyLine | None:
    """The one line of the warranty at this position, where there is exactly one."""
    if position is None:
        return None
    lines = WarrantyLine.objects.filter(warranty=claim.warranty_id).select_related("entry__position")
    at = [line for line in lines if place_of(line) == position.designator]
    return at[0] if len(at) == 1 else None


def _still_stands(claim: Claim, finding: ClaimFinding) -> None:
    if finding.claim_id != claim.pk:
        raise Refused("That finding is of another claim.")
    if finding.withdrawn or ClaimFinding.objects.filter(corrects=finding).exists():
        raise Stale("This finding was corrected or taken back already. Load the page again.")


@transaction.atomic
def withdraw_finding(finding: ClaimFinding, *, person: Staff, at: datetime) -> ClaimFinding:
    """Take a finding back: a new row that names it and counts nothing."""
    _, current = _locked(finding.claim, None)
    _still_stands(current, finding)
    made = ClaimFinding.objects.create(
        claim=current,
        line=finding.line,
        position=finding.position,
        text=finding.text,
        corrects=finding,
        withdrawn=True,
        at=at,
        person=person,
    )
    _moved_on(current, finding.claim)
    return made


@transaction.atomic
def decide(claim: Claim, decided: Decided, *, person: Staff, at: datetime, seen: int | None = None) -> ClaimDecision:
    """A person decides. Another answer than the proposed one, or one before all is known, says why."""
    job, current = _locked(claim, seen)
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
    _moved_on(current, claim)
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
