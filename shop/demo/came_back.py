"""Sets that came back: what was found, and what was decided by the log."""

from jobs.models import Cause, Claim, ClaimAnswer, SameFault
from jobs.queries.claims import judged
from jobs.queries.sheet import sheet_of
from jobs.services.claim_decisions import Decided
from jobs.services.claim_decisions import decide as decide_claim
from jobs.services.claims import FindingFacts, add_finding
from shop.demo.hand import Hand


def inspect(hand: Hand, *, decide: bool) -> None:
    """A part that the shop fitted failed, and an old one that was left in has drifted meanwhile; or nobody can tell yet."""
    claim = Claim.objects.select_related("job", "warranty__job").get(job=hand.job)
    fitted = _place_of_ours(claim)
    if not decide:
        _find(hand, claim, f"{fitted} looks sound; weak again when it is warm", fitted, SameFault.UNSURE, Cause.UNKNOWN)
        return
    _find(hand, claim, f"{fitted} leaks again: the new part has failed", fitted, SameFault.YES, Cause.PART)
    kept = _place_left_in(claim, fitted)
    if kept:
        _find(hand, claim, f"{kept} has drifted since; it was left in as it was", kept, SameFault.NO, Cause.AGE)
    _decide(hand, claim)


def _place_of_ours(claim: Claim) -> str:
    lines = claim.warranty.lines.filter(entry__position__isnull=False, covered=True)  # type: ignore[attr-defined]
    named = list(lines.order_by("pk").values_list("entry__position__designator", flat=True))
    return next((name for name in named if name.startswith("C")), named[0])


def _place_left_in(claim: Claim, other: str) -> str:
    names = [row.position.designator for row in sheet_of(claim.warranty.job).rows if row.decision == "keep" and not row.fitted]
    return next((name for name in names if name != other), "")


def _find(hand: Hand, claim: Claim, text: str, place: str, same: str, cause: str) -> None:
    author = hand.author()
    facts = FindingFacts(text, same, cause, position=hand.position(place))
    add_finding(claim, facts, person=author.person, at=author.at)


def _decide(hand: Hand, claim: Claim) -> None:
    author = hand.author()
    proposal = judged(claim, author.at).proposal
    shares = {hand.position(one.designator).pk if one.designator else None: one.share for one in proposal.places}
    wanted = Decided(proposal.answer, shares=shares if proposal.answer == ClaimAnswer.PARTLY else {})
    decide_claim(claim, wanted, person=author.person, at=author.at)
    hand.job.refresh_from_db()
