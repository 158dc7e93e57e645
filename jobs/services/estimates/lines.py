"""Lines typed by hand, and the note: time, a flat task, a fee, a part that is in no drawer."""

from dataclasses import dataclass

from django.db import transaction

from jobs.models import Estimate, EstimateLine, FlatTask, Position, PricedBy
from jobs.models.estimate import EstimateLineKind
from jobs.queries.counted import count_for
from jobs.services.estimates.drafting import draft_only, redraw, tax_bp, touch
from jobs.services.labour import charged_minutes, labour_price
from jobs.services.log import profile
from jobs.services.tasks import check_task
from shop.acts import Refused
from shop.models import Profile

LARGEST_LINE_MINOR = 10**10
TYPED_ORDER = 200_000
FROM_LOG = "This line comes from the change log. Change the decision at its position, and the line follows."


@dataclass(frozen=True, slots=True)
class TypedLine:
    """A line typed by hand. Time gives minutes from..to; a task its price; a fee or part its sums. All sums in minor units.

    `count` is how often a task's price is asked; None: once, or as often as the set has such parts on its list.
    A part may name the `position` it is for: the line then gives way as soon as the log has a price for that position.
    """

    kind: str
    text: str
    low_minutes: int = 0
    high_minutes: int = 0
    task: FlatTask | None = None
    low_minor: int = 0
    high_minor: int = 0
    position: Position | None = None
    count: int | None = None


def _line_sums(typed: TypedLine, terms: Profile, count: int) -> tuple[int, int, int, int]:
    """Minutes, unit price (an hour of labour, a task's price, else the low end), low and high of a typed line."""
    if typed.task is not None:
        price = typed.task.price_minor
        return 0, price, price * count, price * count
    if typed.kind == EstimateLineKind.LABOUR:
        low, high = (
            charged_minutes(m, terms.minute_step) for m in (typed.low_minutes, max(typed.high_minutes, typed.low_minutes))
        )
        rate = terms.hour_rate_minor
        return high, rate, labour_price(low, rate), labour_price(high, rate)
    return 0, typed.low_minor, typed.low_minor, max(typed.high_minor, typed.low_minor)


def _count(estimate: Estimate, typed: TypedLine) -> int:
    if typed.task is None:
        return 1
    if typed.count is not None or typed.task.priced_by == PricedBy.JOB:
        return 1 if typed.count is None else typed.count
    return count_for(estimate.job, typed.task)


def _check_line(estimate: Estimate, typed: TypedLine, low: int, high: int) -> None:
    if typed.kind not in EstimateLineKind.values:
        raise Refused("Choose what kind of line this is.", field="kind")
    if typed.task is None and not typed.text.strip():
        raise Refused("Say what the line is for.", field="text")
    if low < 0 or typed.low_minutes < 0:
        raise Refused("A line of an estimate can't be below nothing.", field="low")
    if high > LARGEST_LINE_MINOR:
        raise Refused("That sum is larger than any line this shop can book.", field="high")
    if typed.kind == EstimateLineKind.LABOUR and typed.task is None and typed.low_minutes == 0 and typed.high_minutes == 0:
        raise Refused("Enter the time this work will take.", field="low_minutes")
    if typed.position is not None and typed.position.job_id != estimate.job_id:
        raise Refused("This position belongs to another job. Load the page again.", field="position")


@transaction.atomic
def add_line(estimate: Estimate, typed: TypedLine, *, line: EstimateLine | None = None, seen: int | None = None) -> EstimateLine:
    """Add a typed line to a draft, or rewrite one that is there. The lines of the log are drawn anew with it."""
    draft_only(estimate, seen)
    if line is not None and (line.from_log or line.estimate_id != estimate.pk):
        raise Refused(FROM_LOG if line.from_log else "This line belongs to another version. Load the page again.")
    terms, count = profile(), _count(estimate, typed)
    if typed.task is not None:
        check_task(typed.task, count, estimate.job)
    minutes, unit, low, high = _line_sums(typed, terms, count)
    _check_line(estimate, typed, low, high)
    target = line or EstimateLine(estimate=estimate, order=TYPED_ORDER + estimate.lines.count())  # type: ignore[attr-defined]
    target.kind = EstimateLineKind.FLAT if typed.task else typed.kind
    target.text = (typed.text.strip() or (typed.task.name if typed.task else ""))[:200]
    target.minutes, target.unit_minor, target.low_minor, target.high_minor = minutes, unit, low, high
    target.position, target.task, target.count = typed.position, typed.task, count
    target.tax_bp = tax_bp(target.kind, terms)
    target.save()
    redraw(estimate)
    return target


@transaction.atomic
def remove_line(line: EstimateLine, *, seen: int | None = None) -> None:
    estimate = line.estimate
    draft_only(estimate, seen)
    if line.from_log:
        raise Refused(FROM_LOG)
    line.delete()
    redraw(estimate)


@transaction.atomic
def set_note(estimate: Estimate, note: str, *, seen: int | None = None) -> None:
    draft_only(estimate, seen)
    estimate.note = note.strip()[:4000]
    touch(estimate, "note")
