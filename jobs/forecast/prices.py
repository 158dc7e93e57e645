"""What a replaced position costs the customer, in minutes of work at the shop's rate: that holds in any money and for years."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log
from typing import TYPE_CHECKING

from jobs.forecast.lognormal import FURTHEST, Fit, Seen, fitted
from jobs.forecast.priors import figures, role_prior

if TYPE_CHECKING:
    import numpy as np

    from jobs.forecast.lognormal import Floats


@dataclass(frozen=True, slots=True)
class Priced:
    """A part that was fitted and charged: its role, what it is made of, its price in minutes of work at that day's rate."""

    role: str
    family: str
    minutes: float


@dataclass(frozen=True, slots=True)
class PriceSpread:
    """Price of one replaced position, minor units without tax: `median`, and `low`..`high` that hold 80 of 100."""

    median_minor: int
    low_minor: int
    high_minor: int


@dataclass(frozen=True, slots=True)
class Prices:
    fit: Fit

    def of(self, role: str, family: str, rate_minor_per_hour: float) -> PriceSpread:
        told, usual = self.fit.predicted(_effects(role, family)), role_prior(role).price_minutes * rate_minor_per_hour / 60
        low, median, high = (round(usual * exp(figures("price")["spread"] * told.at(share))) for share in (0.1, 0.5, 0.9))
        return PriceSpread(median, low, high)

    def drawn(self, kinds: Sequence[tuple[str, str]], fate: np.random.Generator, count: int) -> Floats:
        """Minutes of work that each of `kinds` (role, family) costs, `count` × kinds; a dear job is dear in all its parts."""
        import numpy as np

        if not kinds:
            return np.zeros((count, 0))
        middles, spread = self.fit.drawn([_effects(*kind) for kind in kinds], fate, count)
        own = fate.standard_normal(middles.shape) * (1 - self.fit.share) ** 0.5
        shared = fate.standard_normal((count, 1)) * self.fit.share**0.5
        deviation = (middles + spread[:, None] * (shared + own)).clip(-FURTHEST, FURTHEST)
        usual = np.array([role_prior(role).price_minutes for role, _ in kinds])
        return np.asarray(usual * np.exp(figures("price")["spread"] * deviation))


def learn_prices(jobs: Sequence[tuple[Sequence[Priced], float]]) -> Prices:
    """From (parts fitted, weight) of each past job."""
    spread = figures("price")["spread"]
    seen = [
        Seen(job, log(part.minutes / role_prior(part.role).price_minutes) / spread, _effects(part.role, part.family), weight)
        for job, (parts, weight) in enumerate(jobs)
        for part in parts
        if part.minutes > 0
    ]
    return Prices(fitted(seen, {name: figures("price")[key] / spread for name, key in _PRIORS.items()}))


_PRIORS = {"shop": "habit", "role": "role", "family": "family"}


def _effects(role: str, family: str) -> dict[str, float]:
    return {"shop": 1.0, f"role:{role}": 1.0, f"family:{role}:{family}": 1.0}
