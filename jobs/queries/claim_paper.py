"""Fills the paper of a decision on a claim: from what the decision froze, never from what the log says now."""

from django.utils import timezone

from jobs.cover.case import ClaimCase
from jobs.cover.reasons import NOTE, Proposal
from jobs.documents.claim_verdict import BorneLine, ClaimVerdict, VerdictFinding, VerdictReason
from jobs.models import ClaimDecision, CoveredPlace
from jobs.queries.papers_in import party_of, set_facts_of
from shop.paper import Letterhead


def claim_verdict(decision: ClaimDecision, head: Letterhead) -> ClaimVerdict:
    """Expects the claim's job with its customer and set, and the warranty's job."""
    job = decision.claim.job
    case, proposal = ClaimCase.from_json(decision.case), Proposal.from_json(decision.proposal)
    places = decision.covered_places.select_related("position").order_by("pk")  # type: ignore[attr-defined]
    return ClaimVerdict(
        letterhead=head,
        customer=party_of(job.customer),
        radio=set_facts_of(job.radio),
        job_number=job.number,
        earlier_number=case.job,
        claimed_on=case.claimed_on,
        decided_on=timezone.localdate(decision.at),
        answer=decision.get_decided_display(),
        findings=_findings(case, proposal),
        general=tuple(one.sentence for one in proposal.about(None) if one.level == NOTE),
        borne=tuple(_borne(one) for one in places),
        why=decision.why,
        goodwill=decision.goodwill,
        signed_by=str(decision.person),
    )


def _findings(case: ClaimCase, proposal: Proposal) -> tuple[VerdictFinding, ...]:
    return tuple(
        VerdictFinding(
            one.designator, one.text, tuple(VerdictReason(why.level, why.sentence) for why in proposal.about(one.number))
        )
        for one in case.findings
    )


def _borne(place: CoveredPlace) -> BorneLine:
    share = "all of it" if place.share_percent == 100 else f"{place.share_percent} %"
    return BorneLine(place.position.designator if place.position else "the work", share)
