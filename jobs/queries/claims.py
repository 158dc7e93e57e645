"""Reading a claim: its findings, what is proposed from the log as it stands, what was decided."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from jobs.cover.case import ClaimCase
from jobs.cover.judging import judge
from jobs.cover.reasons import Proposal
from jobs.models import Claim, ClaimDecision, ClaimFinding, Job, Warranty
from jobs.queries.claim_case import AsOf, case_of, findings_upto, standing_findings

HEADS = ("warranty__job__radio__model", "warranty__job__customer", "job__radio__model", "job__customer")


def claim_on(job: Job) -> Claim | None:
    """The claim that a job is; None where it isn't one, or isn't one any more."""
    if job.warranty_of_id is None:
        return None
    return Claim.objects.filter(job=job).select_related(*HEADS).first()


@dataclass(frozen=True, slots=True)
class Judged:
    """A claim as it stands: the case, the proposal, all findings written (`rows`) and those that count."""

    claim: Claim
    case: ClaimCase
    proposal: Proposal
    rows: Sequence[ClaimFinding]
    findings: Sequence[ClaimFinding]

    def number_of(self, finding: ClaimFinding) -> int:
        return [one.pk for one in self.rows].index(finding.pk) + 1


def as_it_stands(claim: Claim, at: datetime) -> AsOf:
    return AsOf(claim.findings.count(), claim.job.log_seq, at)  # type: ignore[attr-defined]


def judged(claim: Claim, at: datetime) -> Judged:
    rows = findings_upto(claim)
    case = case_of(claim, AsOf(len(rows), claim.job.log_seq, at))
    return Judged(claim, case, judge(case), rows, standing_findings(rows))


def decisions_of(claim: Claim) -> list[ClaimDecision]:
    """The newest first: it is the one that counts."""
    made = claim.decisions.select_related("person").prefetch_related("covered_places__position").order_by("-pk")  # type: ignore[attr-defined]
    return list(made)


def warranties_for(job: Job) -> "QuerySet[Warranty]":
    """Those of the same set's earlier jobs, the newest first; whether they still run is judged, not asked."""
    earlier = Warranty.objects.filter(job__radio=job.radio_id, job__pk__lt=job.pk)
    return earlier.select_related("job").order_by("-starts_on", "-pk")


def stands_by_words(earlier: Job, *, goodwill: bool = False) -> str:
    """The reason that bills and the log give for what isn't charged."""
    return f"goodwill beyond the warranty of job {earlier.number}" if goodwill else f"warranty of job {earlier.number}"
