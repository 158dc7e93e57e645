"""The jobs as written in jobs.toml, and when each of their steps falls."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random

from jobs.models import Stage
from shop.demo.people import data

# How far through its stay a job usually is when it comes to a stage; the rest of the time it stands and waits.
PROGRESS: dict[str, float] = {
    "taken_in": 0.0,
    "inspecting": 0.1,
    "awaiting_consent": 0.2,
    "agreed": 0.35,
    "declined": 0.35,
    "repairing": 0.45,
    "proving": 0.7,
    "soaking": 0.78,
    "ready": 0.85,
    "handed_over": 1.0,
    "returned": 1.0,
    # A set that nobody collects stays for months: called for, told of the sale, sold.
    "called": 1.25,
    "warned": 4.2,
    "sold": 7.15,
}
TURNED_OFF = (Stage.DECLINED, Stage.RETURNED)
UNCOLLECTED = ("called", "warned", "sold")
LONGEST_STAY_DAYS = 36
OPENING_HOUR, CLOSING_HOUR = 9, 15
SATURDAY = 5


@dataclass(frozen=True, slots=True)
class Plan:
    """One job of the demo: `turns` are what happened out of the ordinary; `warranty_of` names an earlier job of the same set."""

    key: str
    model: str
    customer: int
    serial: str
    year: int
    days_ago: int
    ends: str
    consent: str
    goal: str
    turns: frozenset[str]
    warranty_of: str
    bench: int | None
    fault: str

    def reaches(self, stage: str) -> bool:
        """Whether the job comes as far as a stage; declined ones turn off before the bench."""
        if self.ends in TURNED_OFF:
            return stage in ("taken_in", "inspecting", "awaiting_consent", "declined") or stage == self.ends
        if stage in UNCOLLECTED or self.ends == Stage.SOLD:
            return self.ends == Stage.SOLD and stage not in (*TURNED_OFF, Stage.HANDED_OVER)
        return stage not in TURNED_OFF and PROGRESS[self.ends] >= PROGRESS[stage]


def plans() -> list[Plan]:
    return [_plan(one) for one in data("jobs.toml")["job"]]


def _plan(one: dict[str, object]) -> Plan:
    words: Sequence[str] = one["with"]  # type: ignore[assignment]
    named = dict(word.split(":") for word in words if ":" in word)
    plain = {name: value for name, value in one.items() if name != "with"}
    return Plan(
        turns=frozenset(word for word in words if ":" not in word),
        warranty_of=named.get("warranty", ""),
        bench=int(named["bench"]) if "bench" in named else None,
        **plain,  # type: ignore[arg-type]
    )


class Clock:
    """The times of one job: never backwards, never past `now`."""

    def __init__(self, at: datetime, now: datetime) -> None:
        self.at, self.now = at, now

    def later(self, **how_much: float) -> datetime:
        return self.move_to(self.at + timedelta(**how_much))

    def shortly_before_now(self, **how_much: float) -> datetime:
        return self.move_to(self.now - timedelta(**how_much))

    def move_to(self, at: datetime) -> datetime:
        self.at = max(self.at, min(at, self.now - timedelta(minutes=5)))
        return self.at


class Calendar(Clock):
    """The times of a planned job, by day and not at the weekend where that can be had."""

    def __init__(self, plan: Plan, now: datetime, rng: Random) -> None:
        super().__init__(now - timedelta(days=plan.days_ago), now)
        self.rng, self.began = rng, self.at
        stay = min(plan.days_ago, LONGEST_STAY_DAYS * max(PROGRESS[plan.ends], 0.05))
        self.stay = timedelta(days=stay) / max(PROGRESS[plan.ends], 0.05)

    def go_to(self, stage: str) -> datetime:
        """Move on to the day on which the job comes to a stage."""
        return self.move_to(self._by_day(self.began + self.stay * PROGRESS[stage] * 0.9))

    def _by_day(self, at: datetime) -> datetime:
        while at.weekday() >= SATURDAY:
            at += timedelta(days=1)
        return at.replace(
            hour=self.rng.randint(OPENING_HOUR, CLOSING_HOUR), minute=self.rng.randrange(60), second=0, microsecond=0
        )
