"""What an estimate missed, as figures: minor units as priced, at the high end, which is what was agreed to."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from jobs.models import Job
from shop.paper.wording import show_lasting

LATER, DROPPED, DEARER, HOURS, FREE, CREDITED, LUMP = "later", "dropped", "dearer", "hours", "free", "credited", "lump"
WHY: dict[str, str] = {
    LATER: "found later, not in what was agreed to",
    DROPPED: "agreed to, and not done",
    DEARER: "another price or count",
    HOURS: "other hours than quoted",
    FREE: "done, and not charged",
    CREDITED: "credited afterwards",
    LUMP: "quoted as one sum",
}


@dataclass(frozen=True, slots=True)
class Miss:
    """`minor` is the bill less what was agreed to; `place` a role, a step or a task, `what` a position or a reason."""

    why: str
    place: str
    minor: int
    what: str = ""
    minutes: int = 0

    @property
    def words(self) -> str:
        return WHY[self.why]


@dataclass(frozen=True, slots=True)
class Kinds:
    parts_minor: int = 0
    work_minor: int = 0
    fees_minor: int = 0

    @property
    def all_minor(self) -> int:
        return self.parts_minor + self.work_minor + self.fees_minor


@dataclass(frozen=True)
class MissedJob:
    """`because` holds the reasons that the shop gave for newer versions, in its own words."""

    job: Job
    currency: str
    billed_on: date
    agreed: Kinds
    billed: Kinds
    misses: tuple[Miss, ...]
    because: tuple[str, ...] = ()

    @property
    def difference_minor(self) -> int:
        return self.billed.all_minor - self.agreed.all_minor

    @property
    def parts_minor(self) -> int:
        return self.billed.parts_minor - self.agreed.parts_minor

    @property
    def work_minor(self) -> int:
        return self.billed.work_minor - self.agreed.work_minor

    @property
    def fees_minor(self) -> int:
        return self.billed.fees_minor - self.agreed.fees_minor

    @property
    def said(self) -> str:
        return "; ".join(
            f"{one.place} {one.what}: {one.words}" if one.what else f"{one.place}: {one.words}" for one in self.misses
        )

    @property
    def said_because(self) -> str:
        return "; ".join(self.because)

    @property
    def weightiest(self) -> Miss | None:
        return max(self.misses, key=lambda one: abs(one.minor), default=None)


@dataclass(frozen=True, slots=True)
class Ranked:
    """All misses of one kind at one place. `minutes` where they are hours."""

    why: str
    place: str
    jobs: int
    minor: int
    minutes: int

    @property
    def words(self) -> str:
        return WHY[self.why]

    @property
    def hours_words(self) -> str:
        """`+2 h 15 min`; empty where it is no matter of hours."""
        if not self.minutes:
            return ""
        return f"{'+' if self.minutes > 0 else '−'}{show_lasting(abs(self.minutes))}"

    @property
    def each_minor(self) -> int:
        return round(self.minor / self.jobs)


@dataclass(frozen=True)
class Missed:
    """`left_out` are (why, how many jobs). The last billed job first."""

    jobs: Sequence[MissedJob]
    left_out: Sequence[tuple[str, int]]

    @property
    def above(self) -> int:
        return sum(1 for one in self.jobs if one.difference_minor > 0)

    @property
    def below(self) -> int:
        return sum(1 for one in self.jobs if one.difference_minor < 0)

    @property
    def agreed_minor(self) -> int:
        return sum(one.agreed.all_minor for one in self.jobs)

    @property
    def difference_minor(self) -> int:
        return sum(one.difference_minor for one in self.jobs)

    @property
    def left_out_count(self) -> int:
        return sum(count for _, count in self.left_out)

    def ranked(self) -> list[Ranked]:
        """What is missed most, by the sum of it, whether above or below."""
        sums: dict[tuple[str, str], list[tuple[int, Miss]]] = defaultdict(list)
        for job in self.jobs:
            for miss in job.misses:
                sums[miss.why, miss.place].append((job.job.pk, miss))
        rows = [
            Ranked(
                why,
                place,
                len({pk for pk, _ in them}),
                sum(one.minor for _, one in them),
                sum(one.minutes for _, one in them),
            )
            for (why, place), them in sums.items()
        ]
        return sorted(rows, key=lambda one: (-abs(one.minor), one.place, one.why))
