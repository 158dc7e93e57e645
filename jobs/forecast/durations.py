"""How long each step takes: from past jobs by kind of set, its valves and, for the repair, what was replaced."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, log
from typing import TYPE_CHECKING

from jobs.forecast.betas import Beta, of_mean
from jobs.forecast.lognormal import FREEDOM, Fit, Seen, fitted
from jobs.forecast.priors import figures, step_prior, step_priors

if TYPE_CHECKING:
    import numpy as np

    from jobs.forecast.lognormal import Floats

REPAIR = "repair"
# How many jobs the usual share of jobs that need a step weighs like.
OFTEN_STRENGTH = 6.0


@dataclass(frozen=True, slots=True)
class SetLike:
    """What a set is like, as far as time goes. `set_class` the shop's own class; `valves` their number, None where not known."""

    set_class: str = ""
    valves: int | None = None


@dataclass(frozen=True, slots=True)
class Spread:
    """Minutes: half of such steps take less than `median`, 80 of 100 lie within `low`..`high`. `n` jobs of the shop tell so.

    `often` is the chance that a job needs the step at all; the minutes are of jobs that do.
    """

    median: float
    low: float
    high: float
    n: int
    often: float


@dataclass(frozen=True, slots=True)
class Times:
    """What the shop's own labour entries say of every step. `spreads` corrects the usual spread of each step."""

    fit: Fit
    spreads: Mapping[str, float]
    counts: Mapping[str, int]
    needed: Mapping[str, Beta]

    def of(self, step: str, like: SetLike, replaced: float | None = None) -> Spread:
        """`replaced`: positions that are replaced, where known; the usual number otherwise."""
        prior, spread = step_prior(step), self.spread(step)
        told = self.fit.predicted(_effects(step, like, replaced, spread))
        offset = _offset(like, step, replaced)
        low, median, high = (prior.minutes * exp(offset + spread * told.at(share)) for share in (0.1, 0.5, 0.9))
        return Spread(median, low, high, self.counts.get(step, 0), self.often(step).mean)

    def per_replaced(self, like: SetLike, replaced: float = 10) -> float:
        """Minutes of repair that one more replaced position costs, about `replaced` of them."""
        few, more = (self.of(REPAIR, like, replaced + step).median for step in (-0.5, 0.5))
        return more - few

    def spread(self, step: str) -> float:
        return step_prior(step).spread * self.spreads.get(step, 1.0)

    def often(self, step: str) -> Beta:
        return self.needed.get(step) or of_mean(step_prior(step).often, OFTEN_STRENGTH)

    def drawn(self, steps: Sequence[str], like: SetLike, replaced: Floats, fate: np.random.Generator) -> Floats:
        """Minutes of each of `steps` in as many draws as `replaced` has; a slow job is slow in all its steps."""
        import numpy as np

        from jobs.forecast.lognormal import FURTHEST

        count = len(replaced)
        plain, spread = self.fit.drawn(
            [*(_effects(step, like, None, self.spread(step)) for step in steps), {"replaced": 1.0}], fate, count
        )
        shared = fate.standard_normal(count) * self.fit.share**0.5
        minutes = np.empty((count, len(steps)))
        for place, step in enumerate(steps):
            own = fate.standard_normal(count) * (1 - self.fit.share) ** 0.5
            deviation = plain[:, place] + spread * (shared + own)
            offset: Floats | float = _offset(like, step, None)
            if step == REPAIR:
                size = np.log((1 + replaced) / (1 + figures("time")["usual_replaced"]))
                deviation = deviation + plain[:, -1] * size / self.spread(step)
                offset = offset + figures("time")["replaced"] * size
            minutes[:, place] = step_prior(step).minutes * np.exp(
                offset + self.spread(step) * deviation.clip(-FURTHEST, FURTHEST)
            )
        return minutes


Worked = tuple[SetLike, Sequence[tuple[str, float]], int, float]


def learn_times(jobs: Sequence[Worked]) -> Times:
    """From (set, minutes by step, positions replaced, weight) of each past job."""
    steps = [(job, step, minutes) for job, one in enumerate(jobs) for step, minutes in one[1] if minutes > 0]
    plain = _fit(jobs, steps, {})
    spreads = _own_spreads(jobs, steps, plain)
    counts: dict[str, int] = defaultdict(int)
    for _, step, _ in steps:
        counts[step] += 1
    return Times(_fit(jobs, steps, spreads), spreads, dict(counts), _needed(jobs))


def _fit(jobs: Sequence[Worked], steps: Sequence[tuple[int, str, float]], spreads: Mapping[str, float]) -> Fit:
    prior = figures("time")
    seen = [
        Seen(job, _deviation(jobs[job], step, minutes, wide), _effects(step, jobs[job][0], jobs[job][2], wide), jobs[job][3])
        for job, step, minutes in steps
        for wide in (step_prior(step).spread * spreads.get(step, 1.0),)
    ]
    usual = {
        "pace": prior["pace"],
        "step": prior["step"],
        "class": prior["kind"],
        "valves": prior["valves_spread"],
        "replaced": prior["replaced_spread"],
    }
    return fitted(seen, usual)


def _deviation(job: Worked, step: str, minutes: float, spread: float) -> float:
    return (log(minutes / step_prior(step).minutes) - _offset(job[0], step, job[2])) / spread


def _effects(step: str, like: SetLike, replaced: float | None, spread: float) -> dict[str, float]:
    """Which effects a step's deviation holds, and how much of each, in spreads of the step."""
    name = step if step in step_priors() else "other"
    effects = {"pace": 1.0, f"step:{name}": 1.0}
    if like.set_class:
        effects[f"class:{like.set_class}"] = 1.0
    if like.valves:
        effects["valves"] = log(like.valves / figures("time")["usual_valves"]) / spread
    if step == REPAIR and replaced is not None:
        effects["replaced"] = log((1 + replaced) / (1 + figures("time")["usual_replaced"])) / spread
    return effects


def _offset(like: SetLike, step: str, replaced: float | None) -> float:
    """How far the logarithm is usually moved by the set's valves and by what was replaced."""
    prior = figures("time")
    offset = prior["valves"] * log(like.valves / prior["usual_valves"]) if like.valves else 0.0
    if step == REPAIR and replaced is not None:
        offset += prior["replaced"] * log((1 + replaced) / (1 + prior["usual_replaced"]))
    return offset


def _own_spreads(jobs: Sequence[Worked], steps: Sequence[tuple[int, str, float]], plain: Fit) -> dict[str, float]:
    """How much wider or narrower than usual each step scatters here; the usual spread weighs like FREEDOM cases."""
    squares: dict[str, tuple[float, float]] = defaultdict(lambda: (FREEDOM, FREEDOM))
    middles = {name: float(middle) for name, middle in zip(plain.names, plain.middles, strict=True)}
    for job, step, minutes in steps:
        spread = step_prior(step).spread
        effects = _effects(step, jobs[job][0], jobs[job][2], spread)
        off = _deviation(jobs[job], step, minutes, spread) - sum(size * middles[name] for name, size in effects.items())
        before = squares[step]
        squares[step] = before[0] + jobs[job][3] * off**2, before[1] + jobs[job][3]
    return {step: (total / count) ** 0.5 for step, (total, count) in sorted(squares.items())}


def _needed(jobs: Sequence[Worked]) -> dict[str, Beta]:
    needed = {step: of_mean(prior.often, OFTEN_STRENGTH) for step, prior in step_priors().items()}
    for _, minutes, _, weight in jobs:
        done = {step for step, worked in minutes if worked > 0}
        needed = {step: one.after(weight, weight if step in done else 0.0) for step, one in needed.items()}
    return needed
