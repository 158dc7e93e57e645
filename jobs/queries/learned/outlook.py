"""What sets like this one came to: price, hours, chances, and what is worth measuring first."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from jobs.forecast.durations import Spread
from jobs.forecast.likelihood import Chance
from jobs.forecast.total import FEW, Outlook, forecast
from jobs.forecast.worth import WorthMeasuring
from jobs.models import Goal, Job, Step
from jobs.queries.learned.cases import case_of
from jobs.queries.learned.learnt import Lesson, lesson
from jobs.queries.sheet import PositionState, Sheet
from shop.models import Profile


@dataclass(frozen=True, slots=True)
class OpenPosition:
    """A position that the log hasn't settled. `chance` that a part goes in, in the light of the set's other readings."""

    row: PositionState
    chance: float
    reason: Chance
    worth: WorthMeasuring | None

    @property
    def percent(self) -> int:
        return round(100 * self.chance)

    @property
    def doubt(self) -> str:
        """Percent of the doubt about the price that knowing this one takes away, to a tenth."""
        return f"{100 * self.worth.share:.1f}" if self.worth else ""


@dataclass(frozen=True, slots=True)
class StepOutlook:
    """Minutes of one step; `often` percent of jobs need it. `is_done`: the set is past it, and the minutes are its own."""

    step: str
    spread: Spread

    @property
    def label(self) -> str:
        return Step(self.step).label

    @property
    def often(self) -> int:
        return round(100 * self.spread.often)

    @property
    def median(self) -> int:
        return round(self.spread.median)

    @property
    def low(self) -> int:
        return round(self.spread.low)

    @property
    def high(self) -> int:
        return round(self.spread.high)


@dataclass(frozen=True, slots=True)
class SetOutlook:
    """All sums with tax, minor units. `worth_measuring` and `open` hold only what the log hasn't settled."""

    outlook: Outlook
    open: tuple[OpenPosition, ...]
    steps: tuple[StepOutlook, ...]
    lesson: Lesson
    settled: int
    is_for_show: bool

    @property
    def worth_measuring(self) -> list[OpenPosition]:
        """The most doubt a minute first."""
        named = [one for one in self.open if one.worth is not None]
        return sorted(named, key=lambda one: -(one.worth.share_per_minute if one.worth else 0))

    @property
    def rests_on_the_trade(self) -> bool:
        return self.outlook.from_jobs < FEW


def outlook_of(job: Job, sheet: Sheet, profile: Profile, at: datetime) -> SetOutlook:
    known = lesson(profile, at)
    case = case_of(job, sheet, profile)
    told = forecast(case, known.learnt, rate_minor_per_hour=float(profile.hour_rate_minor or 1))
    worth = {one.key: one for one in told.most_worth_measuring}
    rows = {row.position.designator: row for row in sheet.rows}
    return SetOutlook(
        told,
        tuple(_open(rows, key, told, worth) for key in told.chances),
        tuple(StepOutlook(step, spread) for step, spread in told.steps.items()),
        known,
        len(rows) - len(told.chances),
        job.goal in (Goal.MUSEUM, Goal.DISPLAY),
    )


def _open(rows: Mapping[str, PositionState], key: str, told: Outlook, worth: Mapping[str, WorthMeasuring]) -> OpenPosition:
    return OpenPosition(rows[key], told.chances[key], told.reasons[key], worth.get(key))
