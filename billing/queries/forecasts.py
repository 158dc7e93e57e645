"""What was expected of a set when its estimate first went out, against what it was billed for in the end."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import comb
from statistics import median

from django.db.models import Sum
from django.utils import timezone

from billing.models import Invoice, PaperKind
from jobs.models import Forecast, Job, Stage

PROMISED = 4 / 5
# Counts that are nothing unusual: what lies outside them comes in less than one of ten shops whose ranges are right.
USUAL = 9 / 10
DECLINED = "the owner declined, so nobody knows what it would have come to"
NOT_YET = "not billed yet"
CREDITED = "its bill was taken back, and there is no new one"


@dataclass(frozen=True, slots=True)
class Outcome:
    """One job: minor units with tax. `estimate_low_minor`..`estimate_high_minor` is what the version itself asked for."""

    pk: int
    number: str
    model: str
    on: date
    low_minor: int
    median_minor: int
    high_minor: int
    from_jobs: int
    estimate_low_minor: int
    estimate_high_minor: int
    came_to_minor: int

    @property
    def is_inside(self) -> bool:
        return self.low_minor <= self.came_to_minor <= self.high_minor

    @property
    def standing(self) -> str:
        if self.is_inside:
            return "within the range"
        return "dearer than the range" if self.came_to_minor > self.high_minor else "cheaper than the range"

    @property
    def off_percent(self) -> float:
        """What it came to against the middle that was expected."""
        return 100 * (self.came_to_minor / self.median_minor - 1) if self.median_minor else 0


@dataclass(frozen=True, slots=True)
class ForecastsDid:
    """`outcomes` the oldest first; `left_out` (why, how many)."""

    outcomes: tuple[Outcome, ...] = ()
    left_out: tuple[tuple[str, int], ...] = ()

    @property
    def inside(self) -> int:
        return sum(one.is_inside for one in self.outcomes)

    @property
    def usual(self) -> tuple[int, int]:
        return usual_counts(len(self.outcomes))

    @property
    def is_usual(self) -> bool:
        low, high = self.usual
        return low <= self.inside <= high

    @property
    def error_percent(self) -> float | None:
        """Half of the jobs lay nearer to their middle than this."""
        return median(abs(one.off_percent) for one in self.outcomes) if self.outcomes else None

    @property
    def lean_percent(self) -> float | None:
        """Above nothing where jobs tend to come dearer than their middle."""
        return median(one.off_percent for one in self.outcomes) if self.outcomes else None

    @property
    def leans(self) -> str:
        """In words: which way, and how far."""
        lean = round(self.lean_percent or 0)
        if not lean:
            return "neither way: as many came dearer as cheaper"
        return f"the middle job came {abs(lean)} % {'dearer' if lean > 0 else 'cheaper'} than expected"


def usual_counts(jobs: int) -> tuple[int, int]:
    """How many of so many jobs lie within ranges that hold 8 in 10: the middle nine tenths of the binomial distribution."""
    shares = [comb(jobs, inside) * PROMISED**inside * (1 - PROMISED) ** (jobs - inside) for inside in range(jobs + 1)]
    tail = (1 - USUAL) / 2
    low = next(inside for inside in range(jobs + 1) if sum(shares[: inside + 1]) > tail)
    high = next(inside for inside in range(jobs, -1, -1) if sum(shares[inside:]) > tail)
    return low, high


def forecasts_did() -> ForecastsDid:
    """The first forecast of every job, in two queries."""
    kept: dict[int, Forecast] = {}
    rows = Forecast.objects.select_related("job__radio__model", "estimate").order_by("pk")
    for forecast in rows:
        kept.setdefault(forecast.job_id, forecast)
    billed, told, why = _billed(), list[Outcome](), dict[str, int]()
    for forecast in kept.values():
        reason = _left_out(forecast, billed)
        if reason:
            why[reason] = why.get(reason, 0) + 1
        else:
            told.append(_outcome(forecast, billed[forecast.job_id]))
    return ForecastsDid(tuple(told), tuple(sorted(why.items(), key=lambda one: (-one[1], one[0]))))


def _billed() -> dict[int, int]:
    """What each job with a forecast was billed for, less what was credited."""
    sums: dict[int, int] = {}
    papers = Invoice.objects.filter(job__in=Job.objects.filter(forecasts__isnull=False).order_by()).order_by()
    for job, kind, minor in papers.values_list("job", "kind").annotate(Sum("gross_minor")):
        sums[job] = sums.get(job, 0) + (-minor if kind == PaperKind.CREDIT_NOTE else minor)
    return sums


def _left_out(forecast: Forecast, billed: dict[int, int]) -> str:
    job = forecast.job
    if job.stage in (Stage.DECLINED, Stage.RETURNED):
        return DECLINED
    if job.pk not in billed:
        return NOT_YET
    return "" if billed[job.pk] > 0 else CREDITED


def _outcome(forecast: Forecast, came_to: int) -> Outcome:
    job, estimate = forecast.job, forecast.estimate
    return Outcome(
        job.pk,
        job.number,
        str(job.radio.model),
        timezone.localdate(forecast.at),
        forecast.low_minor,
        forecast.median_minor,
        forecast.high_minor,
        forecast.from_jobs,
        estimate.low_minor if estimate else 0,
        estimate.high_minor if estimate else 0,
        came_to,
    )


def running_share(outcomes: Sequence[Outcome]) -> list[float]:
    """Percent within their range, of the first, of the first two, and so on."""
    inside, shares = 0, []
    for count, one in enumerate(outcomes, 1):
        inside += one.is_inside
        shares.append(100 * inside / count)
    return shares


def running_error(outcomes: Sequence[Outcome], window: int = 10) -> list[float]:
    """Median distance from the middle, percent, of each job and those up to `window` before it."""
    offs = [abs(one.off_percent) for one in outcomes]
    return [median(offs[max(0, at + 1 - window) : at + 1]) for at in range(len(offs))]
