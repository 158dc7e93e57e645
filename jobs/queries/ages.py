"""Sets that are in the house: how many stand at each stage, by the weeks since they were taken in."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from jobs.models import Job
from jobs.models.job import OPEN_STAGES, Stage

# Days that a set has been here at most, and how that is said. The shop's own steps, no source.
AGES: tuple[tuple[str, int], ...] = (
    ("under 2 weeks", 13),
    ("2 to 4 weeks", 27),
    ("4 to 8 weeks", 55),
    ("8 to 12 weeks", 83),
    ("12 weeks and longer", 10**6),
)


@dataclass(frozen=True, slots=True)
class StageAges:
    """One stage. `counts` are sets by AGES, `oldest_days` those of the set that has been here longest."""

    stage: str
    counts: tuple[int, ...]
    oldest_days: int

    @property
    def label(self) -> str:
        return Stage(self.stage).label

    @property
    def jobs(self) -> int:
        return sum(self.counts)


def ages_by_stage(on: date) -> list[StageAges]:
    """Every stage of an open job, in the order of the work. One query."""
    found: dict[str, list[int]] = {stage: [] for stage in OPEN_STAGES}
    for stage, taken_in_at in Job.objects.open().order_by().values_list("stage", "taken_in_at"):  # type: ignore[attr-defined]
        found[stage].append(max(0, (on - timezone.localdate(taken_in_at)).days))
    return [StageAges(stage, _counts(days), max(days, default=0)) for stage, days in found.items()]


def _counts(days: Sequence[int]) -> tuple[int, ...]:
    least, counts = 0, []
    for _, most in AGES:
        counts.append(sum(least <= one <= most for one in days))
        least = most + 1
    return tuple(counts)
