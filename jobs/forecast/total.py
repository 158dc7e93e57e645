"""What a set like this may come to: many drawn jobs, each with all doubts at once, and the range that holds 80 of 100 of them.

Drawn together are: what the shop's log leaves open about every chance, time and price; what the positions of one set have in
common, in the light of those already measured; each position's own fate; the pace of the job; and what bills hold besides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from jobs.forecast.betas import NORMAL, probit
from jobs.forecast.durations import SetLike, Spread
from jobs.forecast.history import Learnt
from jobs.forecast.kinds import Path
from jobs.forecast.likelihood import Cell, Chance
from jobs.forecast.priors import role_prior
from jobs.forecast.worth import Asked, WorthMeasuring, most_worth

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from jobs.forecast.lognormal import Floats

DRAWS = 4000
SHARES = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
BINS = 20
# From so many of its own jobs a shop's forecast rests mostly on them. The back-test prints what each number is worth.
FEW = 20


@dataclass(frozen=True, slots=True)
class CasePosition:
    """A position of the set. `key` names it (its designator). `replace` is True or False where that is settled, None while open;
    `price_minor` its part's price without tax where it is known; `measure_minutes` where another time than usual is needed."""

    key: str
    cell: Cell
    replace: bool | None = None
    price_minor: int | None = None
    measure_minutes: float | None = None


@dataclass(frozen=True, slots=True)
class CaseStep:
    """A step of the work. `planned` True or False where that is settled, None for how often jobs need it.

    `minutes` where they are known: the step is done, or promised.
    """

    step: str
    planned: bool | None = None
    minutes: float | None = None


@dataclass(frozen=True, slots=True)
class SetCase:
    """The set that is asked about. `fees_minor` are fixed sums, with tax; `tax_factor` 1.2 for 20 %, 1 without tax."""

    like: SetLike
    positions: tuple[CasePosition, ...]
    steps: tuple[CaseStep, ...]
    fees_minor: int = 0
    tax_factor: float = 1.0


@dataclass(frozen=True, slots=True)
class Bin:
    """Drawn jobs from `from_minor` up to `to_minor`: `share` of all (0..1)."""

    from_minor: int
    to_minor: int
    share: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """Prices as the customer pays them, with tax, minor units: in 80 of 100 sets like this from `low_minor` to `high_minor`.

    `quantiles`: (share, minor) from 0.05 to 0.95. `bins`: a histogram of equal widths. `chances` that open positions must be
    replaced, by key, in the light of what was measured on this set; `reasons`: what the log says of their kind. `steps`: minutes
    of each step asked for. `parts_minor` and `work_minor` are medians without tax, `replaced` the number of positions (low,
    median, high). `from_jobs` 0: all is what is usual.
    """

    median_minor: int
    low_minor: int
    high_minor: int
    quantiles: tuple[tuple[float, int], ...]
    bins: tuple[Bin, ...]
    most_worth_measuring: tuple[WorthMeasuring, ...]
    chances: Mapping[str, float]
    reasons: Mapping[str, Chance]
    steps: Mapping[str, Spread]
    parts_minor: int
    work_minor: int
    replaced: tuple[int, int, int]
    from_jobs: int
    words: str


def forecast(case: SetCase, learnt: Learnt, *, rate_minor_per_hour: float, seed: int = 1938, draws: int = DRAWS) -> Outlook:
    """The same case, log, rate and seed always give the same outlook. `rate_minor_per_hour` without tax."""
    import numpy as np

    fate = np.random.default_rng(seed)
    drawn = _Drawn(case, learnt, rate_minor_per_hour, fate, draws)
    totals = _widened(drawn.totals, learnt.widening)
    low, median, high = (round(float(one)) for one in np.quantile(totals, (0.1, 0.5, 0.9)))
    told = {one.key: learnt.likelihoods.of(one.cell) for one in case.positions if one.replace is None}
    return Outlook(
        median_minor=median,
        low_minor=low,
        high_minor=high,
        quantiles=tuple(zip(SHARES, (round(float(one)) for one in np.quantile(totals, SHARES)), strict=True)),
        bins=_bins(totals),
        most_worth_measuring=drawn.most_worth(),
        chances=drawn.chances(),
        reasons=told,
        steps={one.step: learnt.times.of(one.step, case.like, float(np.median(drawn.count))) for one in case.steps},
        parts_minor=round(float(np.median(drawn.parts))),
        work_minor=round(float(np.median(drawn.work))),
        replaced=_whole(np.quantile(drawn.count, (0.1, 0.5, 0.9))),
        from_jobs=learnt.jobs,
        words=_words(learnt.jobs),
    )


@dataclass(slots=True)
class _Drawn:
    """The drawn jobs: all arrays run over draws, in minor units without fees and tax but for `totals`."""

    case: SetCase
    learnt: Learnt
    rate: float
    fate: np.random.Generator
    draws: int
    chance: Floats = field(init=False)
    replaced: NDArray[np.bool_] = field(init=False)
    count: Floats = field(init=False)
    parts: Floats = field(init=False)
    work: Floats = field(init=False)
    totals: Floats = field(init=False)

    def __post_init__(self) -> None:
        import numpy as np

        self.replaced = self._replaced()
        self.count = self.replaced.sum(axis=1).astype(float)
        self.parts = (self.replaced * self._prices()).sum(axis=1)
        self.work = self._work()
        logged = (self.parts + self.work) * self.learnt.rest.drawn(self.fate, self.draws)
        self.totals = np.asarray(logged * self.case.tax_factor + self.case.fees_minor)

    def chances(self) -> dict[str, float]:
        shares = (self.replaced.sum(axis=0) + 0.5) / (self.draws + 1)
        return {one.key: float(share) for one, share in zip(self.case.positions, shares, strict=True) if one.replace is None}

    def most_worth(self) -> tuple[WorthMeasuring, ...]:
        minutes = [
            role_prior(one.cell.role).measure_minutes if one.measure_minutes is None else one.measure_minutes
            for one in self.case.positions
        ]
        asked = [
            Asked(one.key, (one.cell, one.price_minor), cost) for one, cost in zip(self.case.positions, minutes, strict=True)
        ]
        return most_worth(asked, self.replaced, self.chance, self.totals)

    def _replaced(self) -> NDArray[np.bool_]:
        import numpy as np
        from scipy.special import ndtr

        positions = self.case.positions
        cells = sorted({one.cell for one in positions})
        known = [(probit(self.learnt.likelihoods.of(one.cell).mean), one.replace) for one in positions if one.replace is not None]
        share, of_set = self.learnt.set_share.drawn(known, self.fate, self.draws)
        chances = _chances(cells, self.learnt, self.fate, self.draws)
        middle = np.column_stack([*(chances[one.cell] for one in positions), np.zeros((self.draws, 0))])
        plain = {cell: ndtr(one) for cell, one in chances.items()}
        self.chance = np.column_stack([*(plain[one.cell] for one in positions), np.zeros((self.draws, 0))])
        own = self.fate.standard_normal(middle.shape)
        replaced = np.sqrt(1 - share)[:, None] * own < middle + (np.sqrt(share) * of_set)[:, None]
        for place, one in enumerate(positions):
            if one.replace is not None:
                replaced[:, place] = one.replace
        return np.asarray(replaced)

    def _prices(self) -> Floats:
        positions = self.case.positions
        prices = self.learnt.prices.drawn([(one.cell.role, one.cell.family) for one in positions], self.fate, self.draws)
        prices = prices * self.rate / 60
        for place, one in enumerate(positions):
            if one.price_minor is not None:
                prices[:, place] = one.price_minor
        return prices

    def _work(self) -> Floats:
        import numpy as np

        steps = [one for one in self.case.steps if one.planned is not False]
        if not steps:
            return np.zeros(self.draws)
        minutes = self.learnt.times.drawn([one.step for one in steps], self.case.like, self.count, self.fate)
        for place, one in enumerate(steps):
            if one.minutes is not None:
                minutes[:, place] = one.minutes
            if one.planned is None:
                minutes[:, place] *= self.fate.random(self.draws) < self.learnt.times.often(one.step).mean
        return np.asarray(minutes.sum(axis=1) * self.rate / 60)


def _chances(cells: Sequence[Cell], learnt: Learnt, fate: np.random.Generator, draws: int) -> dict[Cell, Floats]:
    """The chance of each kind on the normal scale, drawn so that kinds with a common parent stray together."""
    import numpy as np
    from scipy.special import betaincinv, ndtri

    latent: dict[Path, Floats] = {(): fate.standard_normal(draws)}
    # Where each Beta is looked up: its quantiles at these places of the normal, straight lines between.
    places = np.linspace(-4, 4, 49)
    inside = np.array([NORMAL.cdf(float(place)) for place in places])
    chances = {}
    for cell in cells:
        for length in (1, 2, 3, 4):
            path = cell.path[:length]
            if path not in latent:
                tie = learnt.likelihoods.tied(path).tie
                latent[path] = tie * latent[path[:-1]] + (1 - tie**2) ** 0.5 * fate.standard_normal(draws)
        known = learnt.likelihoods.tied(cell.path).known
        table = ndtri(betaincinv(known.alpha, known.beta, inside).clip(1e-9, 1 - 1e-9))
        chances[cell] = np.interp(latent[cell.path], places, table)
    return chances


def _widened(totals: Floats, factor: float) -> Floats:
    import numpy as np

    if factor == 1:
        return totals
    middle = float(np.median(totals))
    return np.asarray(middle * (totals / middle) ** factor) if middle > 0 else totals


def _bins(totals: Floats) -> tuple[Bin, ...]:
    """Without the outermost hundredth at either end, which would squeeze the rest together."""
    import numpy as np

    low, high = (float(one) for one in np.quantile(totals, (0.01, 0.99)))
    if high - low < BINS:
        return (Bin(round(low), round(high), 1.0),)
    counts, edges = np.histogram(totals.clip(low, high), BINS, (low, high))
    return tuple(
        Bin(round(float(start)), round(float(end)), float(count) / len(totals))
        for start, end, count in zip(edges[:-1], edges[1:], counts, strict=True)
    )


def _whole(three: Floats) -> tuple[int, int, int]:
    low, median, high = (round(float(one)) for one in three)
    return low, median, high


def _words(jobs: int) -> str:
    if not jobs:
        return "Rests on what is usual in the trade, not yet on your own sets."
    own = "1 of your own jobs" if jobs == 1 else f"{jobs} of your own jobs"
    if jobs < FEW:
        return f"Rests on {own} and, as these are few, mostly on what is usual in the trade."
    return f"Rests on {own}."
