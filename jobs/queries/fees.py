"""Fees agreed at intake: a minimum for the bench, credited to work, and one where the estimate is declined.

Both are sums with tax, as the customer was told them; the log holds labour as priced. Nothing is due that wasn't agreed to.
"""

from bisect import bisect_right
from dataclasses import dataclass

from jobs.models import Job, LabourEntry, Stage
from jobs.queries.exposure import standing_labour, with_tax
from shop.models import Profile

# Entries of these fees carry no task and no minutes; they are known by how their text begins.
MINIMUM_TEXT = "Minimum bench fee"
DECLINE_TEXT = "Fee for the declined estimate"


def largest_within(terms: Profile, worked: list[int], most_minor: int) -> int:
    """The largest sum as priced that, with `worked` and tax, comes to no more than `most_minor`; never below nothing."""
    room = range(max(most_minor, 0) + 1)
    return max(bisect_right(room, most_minor, key=lambda more: with_tax(terms, [], [*worked, more])) - 1, 0)


def fee_entry(entries: list[LabourEntry], begins: str) -> LabourEntry | None:
    fees = (one for one in entries if one.task_id is None and one.flat_minor is not None and one.text.startswith(begins))
    return next(fees, None)


@dataclass(frozen=True, slots=True)
class Fee:
    """`agreed_minor` and `adds_minor` with tax, `amount_minor` as the log is to hold it; 0: nothing is due.

    `booked` is the entry that stands; where work was taken back since, a larger one takes its place.
    """

    agreed_minor: int
    amount_minor: int
    adds_minor: int
    booked: LabourEntry | None

    @property
    def is_due(self) -> bool:
        return self.amount_minor > 0


@dataclass(frozen=True, slots=True)
class Fees:
    """`labour_minor` is what is worked and charged so far, with tax and without either fee."""

    labour_minor: int
    minimum: Fee
    decline: Fee

    @property
    def any_due(self) -> bool:
        return self.minimum.is_due or self.decline.is_due


def fees_of(job: Job, terms: Profile) -> Fees:
    """What is due now. The minimum is only ever topped up to: work and fee together, never fee and work."""
    entries = list(standing_labour(job))
    minimum, decline = fee_entry(entries, MINIMUM_TEXT), fee_entry(entries, DECLINE_TEXT)
    work = [one.billed_minor for one in entries if one not in (minimum, decline)]
    worked_minor = with_tax(terms, [], work)
    return Fees(
        worked_minor,
        _fee(terms, job.minimum_fee_minor, work, worked_minor, job.minimum_fee_minor, minimum),
        _fee(terms, job.decline_fee_minor, *_declining(job, terms, work, minimum), decline),
    )


def _declining(job: Job, terms: Profile, work: list[int], minimum: LabourEntry | None) -> tuple[list[int], int, int]:
    """The fee stands beside the labour of the job; nothing of it is due unless the estimate was declined."""
    owed = minimum.billed_minor if minimum else largest_within(terms, work, job.minimum_fee_minor)
    labour = [*work, owed]
    before = with_tax(terms, [], labour)
    return labour, before, before + job.decline_fee_minor if job.stage == Stage.DECLINED else 0


def _fee(
    terms: Profile, agreed_minor: int, work: list[int], worked_minor: int, most_minor: int, booked: LabourEntry | None
) -> Fee:
    if not agreed_minor or most_minor <= worked_minor:
        return Fee(agreed_minor, 0, 0, booked)
    amount = largest_within(terms, work, most_minor)
    if booked is not None and booked.amount_minor >= amount:
        return Fee(agreed_minor, 0, 0, booked)
    return Fee(agreed_minor, amount, with_tax(terms, [], [*work, amount]) - worked_minor, booked)
