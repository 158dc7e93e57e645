"""Hours that past jobs speak for, typed into the draft as lines of work; and taken off again."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from jobs.models import Estimate, EstimateLine, Job
from jobs.models.estimate import EstimateLineKind
from jobs.queries.exposure import WORK_KINDS
from jobs.services.estimates.drafting import draft, draft_only
from jobs.services.estimates.lines import TypedLine, add_line, remove_line
from jobs.services.stages import open_job
from shop.acts import Refused, Stale
from shop.models import Staff


@dataclass(frozen=True, slots=True)
class LearntHours:
    """Minutes of one step, from the usual to what eight of ten jobs stay within."""

    text: str
    low_minutes: int
    high_minutes: int


@transaction.atomic
def type_hours(job: Job, hours: Sequence[LearntHours], *, person: Staff, at: datetime) -> list[EstimateLine]:
    """Into the draft there is, or a new one. Typed work is the whole work of a job, so none may stand there already."""
    if not hours:
        raise Refused("Tick at least one step of the work.", field="steps")
    made = draft(open_job(job), person=person, at=at)
    if made.lines.filter(from_log=False, kind__in=WORK_KINDS).exists():  # type: ignore[attr-defined]
        raise Refused(
            f"Version {made.number} has work typed already, and these hours would count it twice. Take those lines off the "
            "draft first, or change their time by hand."
        )
    typed = [TypedLine(EstimateLineKind.LABOUR, one.text, one.low_minutes, one.high_minutes) for one in hours]
    return [add_line(made, one) for one in typed]


@transaction.atomic
def take_hours_off(estimate: Estimate, lines: Sequence[int]) -> None:
    """The lines of that one act, while they still stand in the draft."""
    draft_only(estimate)
    standing = list(estimate.lines.filter(pk__in=lines, from_log=False, kind=EstimateLineKind.LABOUR))  # type: ignore[attr-defined]
    if not standing:
        raise Stale("These hours were taken off the draft already.")
    for line in standing:
        remove_line(line)
