"""Invented shops whose truth is known, to hold forecasts against: none of them works the way the forecasts suppose.

Chances add up on the logit scale, sets come well kept or from a damp cellar, repair time is a base and so much a part, times have
fat tails, prices come from a list of a few, and bills are charged by the quarter of an hour.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import exp, log

import numpy as np

from jobs.forecast.durations import SetLike
from jobs.forecast.history import PastJob, SeenPosition
from jobs.forecast.likelihood import Cell
from jobs.forecast.priors import family_shifts, role_prior, step_priors
from jobs.forecast.total import CasePosition, CaseStep, SetCase

TAX = 1.2
AGES = ("1920s", "1930s", "1940s", "1950s", "1960s")
SUPPLIES = ("transformer", "transformerless", "battery")
FAMILIES = {
    "coupling": ("paper", "paper", "paper", "ceramic", "film"),
    "bypass": ("paper", "paper", "ceramic", "mica"),
    "tone": ("paper", "ceramic"),
    "avc": ("paper", "film"),
    "tuned_circuit": ("mica", "ceramic"),
    "reservoir": ("electrolytic",),
    "smoothing": ("electrolytic",),
    "cathode_bypass": ("electrolytic",),
    "line_to_line": ("paper",),
    "line_to_chassis": ("paper", "ceramic"),
    "plate_load": ("carbon_composition", "carbon_film"),
    "grid_leak": ("carbon_composition",),
    "cathode_resistor": ("carbon_composition", "wirewound"),
    "valve": ("frequency_changer", "pentode", "output"),
}
# Fewest and most positions of each role in a set of five valves.
ROLES = {
    "reservoir": (1, 1),
    "smoothing": (1, 2),
    "coupling": (2, 4),
    "bypass": (3, 8),
    "cathode_bypass": (1, 2),
    "tone": (1, 2),
    "avc": (1, 2),
    "tuned_circuit": (3, 6),
    "line_to_line": (0, 1),
    "line_to_chassis": (0, 1),
    "plate_load": (2, 4),
    "grid_leak": (2, 5),
    "cathode_resistor": (1, 2),
    "dropper": (0, 1),
    "volume_control": (1, 2),
    "output_transformer": (1, 1),
    "mains_transformer": (0, 1),
    "if_transformer": (2, 2),
    "antenna_coil": (1, 2),
    "speaker": (1, 1),
    "pilot_lamp": (1, 2),
    "switch": (1, 2),
    "line_cord": (1, 1),
}


@dataclass(frozen=True)
class Kind:
    """`strays`: how far the shop's chances lie from the usual, on the logit scale; `turned`: they have nothing to do with it."""

    name: str
    strays: float = 0.7
    habit: float = 0.5
    pace: float = 0.25
    dear: float = 0.25
    tails: float = 6.0
    scatter: float = 0.4
    cellar: float = 0.9
    drift: float = 0.0
    turned: bool = False


KINDS = (
    Kind("as is usual"),
    Kind("usual wrong", turned=True, pace=0.5, dear=0.5),
    Kind("even work", scatter=0.2, cellar=0.3, strays=0.4),
    Kind("rough sets", scatter=0.6, cellar=1.6, tails=4.0),
    Kind("drifting", drift=1.0),
    Kind("slow and dear", pace=0.6, dear=0.6, habit=0.8),
)


@dataclass
class Shop:
    """One invented shop. `job(at)` makes the next one, `at` from 0 to 1 through its life, for what drifts."""

    kind: Kind
    seed: int
    fate: np.random.Generator = field(init=False)
    nudges: dict[str, float] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.fate = np.random.default_rng(self.seed)
        self.habit = self.fate.normal(0, self.kind.habit)
        self.pace = self.fate.normal(0, self.kind.pace)
        self.dear = self.fate.normal(0, self.kind.dear)
        self.part_minutes = exp(self.fate.normal(log(7), 0.3))
        self.drifts = self.fate.normal(0, self.kind.drift, 3) * (0.7, 0.35, 0.3)

    def nudge(self, name: str, spread: float) -> float:
        """What is the shop's own about `name`, the same at every job."""
        if name not in self.nudges:
            self.nudges[name] = float(self.fate.normal(0, spread))
        return self.nudges[name]

    def chance(self, cell: Cell, cellar: float, at: float) -> float:
        """The true chance that such a position of this set must go."""
        if self.kind.turned:
            odds = self.nudge(f"role {cell.role}", 1.6)
        else:
            usual = role_prior(cell.role).chance
            odds = log(usual / (1 - usual)) + self.habit + self.nudge(f"role {cell.role}", self.kind.strays)
        odds += 1.7 * family_shifts().get(cell.family, 0.0) * (0.3 if self.kind.turned else 0.9)
        odds += self.nudge(f"{cell.role} {cell.family}", 0.5) + self.nudge(f"age {cell.age_band}", 0.4)
        odds += self.nudge(f"supply {cell.supply_kind}", 0.25) + cellar + self.drifts[0] * at
        return 1 / (1 + exp(-odds))

    def price(self, cell: Cell, at: float) -> float:
        """Minutes of work that a part costs: one of a few on the list."""
        steps = (-0.7, -0.2, 0.0, 0.3, 0.9)
        step = steps[int(self.fate.integers(len(steps)))] * self.kind.scatter / 0.4
        usual = role_prior(cell.role).price_minutes
        return usual * exp(self.dear + step + self.nudge(f"price {cell.role} {cell.family}", 0.35) + self.drifts[2] * at)

    def minutes(self, step: str, like: SetLike, replaced: int, slow: float, at: float) -> float:
        usual = step_priors()[step].minutes
        if step == "repair":
            usual = 40 + self.part_minutes * replaced
        off = self.fate.standard_t(self.kind.tails) * self.kind.scatter * 0.8
        size = 0.45 * log((like.valves or 5) / 5)
        own = self.nudge(f"step {step}", 0.3) + self.nudge(f"class {like.set_class}", 0.2)
        return float(np.clip(usual * exp(self.pace + size + own + slow + off + self.drifts[1] * at), 3, 3000))

    def job(self, at: float, days_ago: float) -> tuple[PastJob, SetCase]:
        """The job as it will have been, and the case as it stands before, with some of it settled."""
        like, cells = self._set()
        damp = self.fate.random() < 0.3
        cellar = self.kind.cellar * (1.2 if damp else -0.5) + self.fate.normal(0, 0.2)
        seen = [self._position(cell, cellar, at) for cell in cells]
        count, slow = sum(one.replaced for one in seen), self.fate.normal(0, 0.2)
        often = {
            step: float(np.clip(prior.often + self.nudge(f"often {step}", 0.1), 0.03, 1)) for step, prior in step_priors().items()
        }
        done = [step for step in step_priors() if self.fate.random() < often[step]]
        minutes = tuple((step, self.minutes(step, like, count, slow, at)) for step in done)
        rate, fees = 4500.0, int(self.fate.choice((0, 0, 1500)))
        job = PastJob(like, tuple(seen), minutes, rate, self._bill(seen, minutes, rate, fees), fees, TAX, days_ago)
        return job, self._case(job)

    def _set(self) -> tuple[SetLike, list[Cell]]:
        kind = str(self.fate.choice(("table", "console", "portable"), p=(0.6, 0.2, 0.2)))
        valves = int(self.fate.integers(*{"table": (4, 7), "console": (7, 13), "portable": (4, 5)}[kind]))
        age, supply = str(self.fate.choice(AGES)), str(self.fate.choice(SUPPLIES, p=(0.5, 0.35, 0.15)))
        counts = {role: int(self.fate.integers(low, high + 1)) for role, (low, high) in ROLES.items()} | {"valve": valves}
        grown = {role: max(count, round(count * (valves / 5) ** 0.6)) if count > 1 else count for role, count in counts.items()}
        return SetLike(kind, valves), [
            Cell(role, str(self.fate.choice(FAMILIES.get(role, ("",)))), age, supply)
            for role, count in grown.items()
            for _ in range(count)
        ]

    def _position(self, cell: Cell, cellar: float, at: float) -> SeenPosition:
        replaced = bool(self.fate.random() < self.chance(cell, cellar, at))
        return SeenPosition(cell, replaced, round(self.price(cell, at) * 75) if replaced else None)

    def _bill(self, seen: Sequence[SeenPosition], minutes: Sequence[tuple[str, float]], rate: float, fees: int) -> int:
        charged = sum(15 * round(worked / 15 + 0.2) for _, worked in minutes)
        parts = sum(one.price_minor or 0 for one in seen)
        let_go = 1 - float(self.fate.choice((0, 0, 0.05, 0.1)))
        sundries = 1.02 + self.nudge("sundries", 0.03)
        return round((charged * rate / 60 + parts) * let_go * sundries * TAX) + fees

    def _case(self, job: PastJob) -> SetCase:
        """A part of the positions already measured, or none; of the steps those that seldom come are open."""
        settled = float(self.fate.choice((0, 0, 0.2, 0.5)))
        positions = [
            CasePosition(f"P{place}", one.cell, one.replaced if self.fate.random() < settled else None)
            for place, one in enumerate(job.positions)
        ]
        return SetCase(job.like, tuple(positions), tuple(CaseStep(step) for step in step_priors()), job.fees_minor, TAX)
