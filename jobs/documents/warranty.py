"""The warranty record: what the shop stands by, line by line, and until when."""

from dataclasses import dataclass
from datetime import date

from jobs.documents.facts import SetFacts
from shop.paper import Letterhead, Party

VOID_RULES = (
    "The set was run on another line voltage or frequency than it is marked for, or without the parts of its cabinet that keep hands away from the chassis.",
    "Somebody else worked on the chassis after hand-over.",
    "Damp, a fall, lightning, leaking batteries.",
)
HOW_TO_CLAIM = (
    "Switch the set off and leave it off. Call or write to us with the job number and what it does, in your own words. "
    "Bring this record. We judge the claim by position, fault and date against the log of this job, and tell you before any work is charged."
)


@dataclass(frozen=True, slots=True)
class WarrantyLinePaper:
    """`until_on` is the last day of cover; None where the line is not covered, with the reason in `note`."""

    text: str
    until_on: date | None
    position: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class WarrantyPaper:
    letterhead: Letterhead
    job_number: str
    customer: Party
    radio: SetFacts
    starts_on: date
    lines: tuple[WarrantyLinePaper, ...]
    job_url: str
    not_covered: tuple[str, ...] = ()
    void_rules: tuple[str, ...] = VOID_RULES
    how_to_claim: str = HOW_TO_CLAIM
    terms: str = ""
    invoice_number: str = ""
    signed_by: str = ""
