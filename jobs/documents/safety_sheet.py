"""The safety sheet: the readings of one electrical safety check against their limits."""

from dataclasses import dataclass

from jobs.documents.facts import SafetyFacts, SetFacts
from shop.paper import Letterhead


@dataclass(frozen=True, slots=True)
class SafetySheet:
    letterhead: Letterhead
    job_number: str
    customer_name: str
    radio: SetFacts
    safety: SafetyFacts
    cautions: tuple[str, ...] = ()
