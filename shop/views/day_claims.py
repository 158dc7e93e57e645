"""The lines of the Today page about sets that came back and wait for a decision."""

from collections.abc import Sequence

from jobs.models import Claim
from jobs.queries.claim_list import waited
from shop.models import Role
from shop.views.day_lines import Desk, Line, day_words, days, job_line
from shop.views.day_ways import Wish

AT_WORK = (Role.COUNTER, Role.BENCH)


def claim_lines(claims: Sequence[Claim], desk: Desk) -> list[Line]:
    return [_claim(one, desk) for one in claims]


def _claim(claim: Claim, desk: Desk) -> Line:
    """Who claims waits for an answer, so the days count from the day they told."""
    past, found = waited(claim, desk.today), len(claim.counted)  # type: ignore[attr-defined]
    since = f"claimed on {day_words(claim.claimed_on)}, {days(past) if past else 'today'}"
    mark = ("wait", "To be decided") if found else ("open", "To be inspected")
    what = "1 finding" if found == 1 else f"{found} findings" if found else "nothing found yet"
    ways = desk.ways.of([Wish("Judge the claim", "jobs:claim", (claim.job_id,), AT_WORK)])
    words = f"{since}; {what}; warranty of job {claim.warranty.job.number}"
    return job_line(claim.job, marks=(mark,), words=words, ways=ways)
