"""The claim check: what the customer takes home when the set stays here."""

from dataclasses import dataclass
from datetime import date, datetime

from moneyed import Money

from jobs.documents.facts import Counted, SetFacts
from shop.paper import Letterhead, Party

ESTIMATE_NOTICE = (
    "You will get a written estimate before any repair is begun. Nothing beyond the inspection is charged until you have agreed to it. "
    "If you decline, the set is put back together as near as possible to how it came, and only what you agreed to above is due."
)


@dataclass(frozen=True, slots=True)
class Permission:
    """What the customer allows to be done to the set, or not: `Drill the chassis or cabinet`."""

    what: str
    given: bool


@dataclass(frozen=True, slots=True)
class ClaimCheck:
    """`taken_in_at` is aware, in the shop's time zone. `estimate_notice` is printed as given: local rules may prescribe its wording."""

    letterhead: Letterhead
    job_number: str
    taken_in_at: datetime
    received_by: str
    customer: Party
    radio: SetFacts
    fault: str
    goal: str
    job_url: str
    cabinet: str = ""
    came_with: tuple[Counted, ...] = ()
    permissions: tuple[Permission, ...] = ()
    old_parts_back: bool = False
    deposit: Money | None = None
    inspection_fee: Money | None = None
    promised_on: date | None = None
    estimate_notice: str = ESTIMATE_NOTICE
    terms: str = ""
