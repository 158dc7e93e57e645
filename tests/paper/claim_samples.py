"""A decision on a claim, as its paper shows it: invented, like the rest."""

from datetime import date

from jobs.documents.claim_verdict import BorneLine, ClaimVerdict, VerdictFinding, VerdictReason
from tests.paper.samples import HEAD, OWNER, RADIO

COVERED = (
    VerdictReason("for", "C1, “0.01 µF 630 V film”, stands on the record of what we stand by."),
    VerdictReason("for", "Covered to the end of 10 July 2031; claimed on 4 June 2031, with 36 days left."),
    VerdictReason("for", "A part that we fitted failed."),
)
AGED = (VerdictReason("against", "“output transformer” stands on the record as not covered: left in as it was."),)


def claim_verdict(findings: int = 2) -> ClaimVerdict:
    found = (
        *(VerdictFinding(f"C{i + 1}", f"open, it measures nothing ({i + 1})", COVERED) for i in range(findings)),
        VerdictFinding("T1", "one winding is open", (*AGED, VerdictReason("open", "Its cause isn't known yet."))),
    )
    return ClaimVerdict(
        HEAD,
        OWNER,
        RADIO,
        "J-2031-0077",
        "J-2031-0042",
        date(2031, 6, 4),
        date(2031, 6, 9),
        "Partly covered",
        found,
        ("The warranty of job J-2031-0042 runs from 11 April 2031, the day the set was handed over.",),
        (BorneLine("C1", "all of it"), BorneLine("the work", "50 %")),
        "The winding was left in with your knowledge; half the hours went into our own part.",
        signed_by="Tomos Ferrier",
    )
