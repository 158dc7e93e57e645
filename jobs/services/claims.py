"""A set came back: that it is a claim, and what was found on it. With `claim_decisions`, claims' only writer.

Findings are append-only: a later one corrects an earlier one, or takes it back.
"""

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils.timezone import localdate

from jobs.documents.warranty import VOID_RULES
from jobs.models import (
    Cause,
    Claim,
    ClaimFinding,
    Job,
    LogEntry,
    Position,
    SameFault,
    Warranty,
    WarrantyLine,
)
from jobs.queries.claim_case import findings_upto, place_of, standing_findings
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
    job, current = locked_claim(claim, seen)
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


def locked_claim(claim: Claim, seen: int | None) -> tuple[Job, Claim]:
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


def moved_on(claim: Claim, shown: Claim) -> None:
    claim.version += 1
    claim.save(update_fields=["version"])
    shown.version = claim.version


@transaction.atomic
def add_finding(
    claim: Claim, facts: FindingFacts, *, person: Staff, at: datetime, corrects: ClaimFinding | None = None
) -> ClaimFinding:
    """Write down one thing that was found; with `corrects`, in place of an earlier one."""
    job, current = locked_claim(claim, None)
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
    moved_on(current, claim)
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
    _, current = locked_claim(finding.claim, None)
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
    moved_on(current, finding.claim)
    return made
