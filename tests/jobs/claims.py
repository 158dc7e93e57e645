"""Sets that came back, for the tests about claims."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any

from django.db import transaction

from jobs.models import Claim, ClaimDecision, ClaimFinding, Job, Stage, WarrantyLine
from jobs.services.claim_decisions import Decided, decide
from jobs.services.claims import FindingFacts, add_finding
from shop.clock import now
from tests import builders as make


def a_repaired_set(days_ago: int = 10, **facts: Any) -> Job:
    """Handed over some days ago: C2 was replaced, C1, C3, R1 and V1 stay in; an hour of work is logged, and agreed to."""
    return make.a_job(Stage.HANDED_OVER, at=now() - timedelta(days=days_ago), **facts)


_kept: list[int] = []


@contextmanager
def one_claim_kept(blocker: Any) -> Iterator[None]:
    """For a module's fixture: one claim is made once, and every test works on it in a savepoint of the same transaction."""
    with blocker.unblock(), transaction.atomic():
        _kept.append(a_claim(a_repaired_set()).pk)
        yield
        _kept.clear()
        transaction.set_rollback(True)


def a_claim(earlier: Job | None = None, **facts: Any) -> Claim:
    """The same set in again today, under the warranty of that job; the one that is kept, where nothing is said."""
    if _kept and earlier is None and not facts:
        return Claim.objects.select_related("job", "warranty__job").get(pk=_kept[0])
    before = earlier or a_repaired_set()
    job = make.a_job(radio=before.radio, warranty_of=before, fault="It hums again.", **facts)
    return Claim.objects.select_related("job", "warranty__job").get(job=job)


def line_at(claim: Claim, designator: str = "C2") -> WarrantyLine:
    return WarrantyLine.objects.get(warranty=claim.warranty, entry__position__designator=designator)


def found(claim: Claim, designator: str = "C2", corrects: ClaimFinding | None = None, **facts: Any) -> ClaimFinding:
    """The part that was fitted there has failed: the same fault again."""
    typed = {"text": f"{designator} is open", "same_fault": "yes", "cause": "part", **facts}
    if "position" not in typed:
        typed["position"] = make.position_of(claim.job, designator)
    return add_finding(claim, FindingFacts(**typed), person=make.a_staff(), at=now(), corrects=corrects)


def decided(claim: Claim, answer: str = "covered", **more: Any) -> ClaimDecision:
    return decide(claim, Decided(answer, **more), person=make.a_staff(), at=now())


def a_covered_claim(**facts: Any) -> Claim:
    claim = a_claim(**facts)
    found(claim)
    decided(claim)
    claim.job.refresh_from_db()
    return claim
