"""Minutes and prices: positive amounts whose logarithm scatters evenly, with what they depend on.

A linear regression of the logarithm with a conjugate normal-inverse-gamma prior: every effect is held to its usual value by a
stated prior, so it also answers with no history, and its forecast is Student's t (Gelman et al., Bayesian Data Analysis, 3rd ed.,
sections 14.2 and 14.8; the t of one mean in 3.3). Amounts of one job have a share of their scatter in common, whose size is the
one on a short list that makes the log most probable. All in units of the usual spread: 1 is what priors.toml calls the spread.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import lgamma, log
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# Degrees of freedom of the prior on the spread: the usual spread weighs like that many cases.
FREEDOM = 8.0
SHARES = (0.0, 0.1, 0.2, 0.35, 0.5, 0.65)
SHARE_WEIGHTS = (2, 3, 3, 2, 1, 0.5)
# Draws further out than this are cut off: a logarithm's far tail would be sums nobody ever paid.
FURTHEST = 4.0

Effects = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Seen:
    """One amount: `deviation` how far its logarithm lies from the usual, in spreads; `effects` the size of each effect in it."""

    job: int
    deviation: float
    effects: Effects
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class Predicted:
    """Student's t of one new amount: `middle` and `scale` in spreads, `freedom` its degrees."""

    middle: float
    scale: float
    freedom: float

    def at(self, share: float) -> float:
        """The deviation that `share` of cases stay below."""
        from scipy.special import stdtrit

        return self.middle + self.scale * float(stdtrit(self.freedom, share))


@dataclass(frozen=True, slots=True)
class Fit:
    """What was learned: effects `names` with their `middles` and `doubts` (covariance in units of the squared spread)."""

    names: tuple[str, ...]
    middles: Floats
    doubts: Floats
    shape: float
    rate: float
    share: float
    usual: Effects

    @property
    def freedom(self) -> float:
        return 2 * self.shape

    def predicted(self, effects: Effects) -> Predicted:
        import numpy as np

        middles, doubts, rows = self.only([effects])
        scale = (self.rate / self.shape * (1 + float((rows @ doubts @ rows.T)[0, 0]))) ** 0.5
        return Predicted(float((rows @ middles)[0]), float(np.asarray(scale)), self.freedom)

    def only(self, wanted: Sequence[Effects]) -> tuple[Floats, Floats, Floats]:
        """(middles, doubts, rows) of the effects that `wanted` has; one never seen has its prior."""
        import numpy as np

        names = sorted({name for effects in wanted for name in effects})
        place = {name: index for index, name in enumerate(self.names)}
        known = [place.get(name, -1) for name in names]
        middles = np.array([self.middles[index] if index >= 0 else 0.0 for index in known])
        doubts = np.diag([_prior_spread(self.usual, name) ** 2 for name in names])
        seen = [index for index, there in enumerate(known) if there >= 0]
        if seen:
            inside = [known[index] for index in seen]
            doubts[np.ix_(seen, seen)] = self.doubts[np.ix_(inside, inside)]
        return middles, doubts, np.array([[effects.get(name, 0.0) for name in names] for effects in wanted])

    def drawn(self, wanted: Sequence[Effects], fate: np.random.Generator, count: int) -> tuple[Floats, Floats]:
        """(`count` × `wanted` middles in which all effects are drawn together, the spread of each draw)."""
        import numpy as np

        middles, doubts, rows = self.only(wanted)
        spread = np.sqrt(self.rate / fate.gamma(self.shape, 1.0, count))
        root = np.linalg.cholesky(doubts + 1e-12 * np.eye(len(middles)))
        effects = middles + spread[:, None] * (fate.standard_normal((count, len(middles))) @ root.T)
        return effects @ rows.T, spread


def fitted(seen: Sequence[Seen], usual: Effects) -> Fit:
    """`usual`: the prior standard deviation of each effect in spreads, by name or by what stands before its first colon."""
    import numpy as np

    ordered = sorted(seen, key=lambda one: (one.job, sorted(one.effects.items()), one.deviation, one.weight))
    names = tuple(sorted({name for one in ordered for name in one.effects}))
    if not ordered:
        return Fit((), np.zeros(0), np.zeros((0, 0)), FREEDOM / 2, FREEDOM / 2, _usual_share(), usual)
    rows = np.array([[one.effects.get(name, 0.0) for name in names] for one in ordered])
    amounts = np.array([one.deviation for one in ordered])
    weights = np.array([one.weight for one in ordered])
    jobs = np.unique(np.array([one.job for one in ordered]), return_inverse=True)[1]
    precision = np.diag([_prior_spread(usual, name) ** -2 for name in names])
    tried = [_with_share(share, rows, amounts, weights, jobs, precision) for share in SHARES]
    best = max(range(len(SHARES)), key=lambda one: tried[one][0] + log(SHARE_WEIGHTS[one]))
    _, middles, doubts, shape, rate = tried[best]
    return Fit(names, middles, doubts, shape, rate, SHARES[best], usual)


def _usual_share() -> float:
    return sum(share * weight for share, weight in zip(SHARES, SHARE_WEIGHTS, strict=True)) / sum(SHARE_WEIGHTS)


def _prior_spread(usual: Effects, name: str) -> float:
    return usual[name] if name in usual else usual[name.partition(":")[0]]


def _with_share(
    share: float, rows: Floats, amounts: Floats, weights: Floats, jobs: NDArray[np.intp], precision: Floats
) -> tuple[float, Floats, Floats, float, float]:
    """(log of how probable the log is, middles, doubts, shape, rate), where that share of the scatter is the job's own."""
    import numpy as np

    counts = np.bincount(jobs)
    whole = 1 - share + share * counts
    # The usual way of random effects: what a job's amounts have in common is taken down until all are independent.
    held = (1 - np.sqrt((1 - share) / whole))[jobs]
    root = np.sqrt(weights) / (1 - share) ** 0.5
    plain = (amounts - held * _job_means(amounts, jobs, counts)) * root
    design = np.column_stack([(column - held * _job_means(column, jobs, counts)) * root for column in rows.T])
    after = precision + design.T @ design
    doubts = np.linalg.inv(after)
    middles = doubts @ (design.T @ plain)
    shape = (FREEDOM + float(weights.sum())) / 2
    rate = (FREEDOM + float(plain @ plain - middles @ after @ middles)) / 2
    probable = -0.5 * (np.linalg.slogdet(after)[1] - np.linalg.slogdet(precision)[1]) + lgamma(shape) - shape * log(rate)
    # Weighed like the rest: a job's amounts all have its weight.
    spread_out = -0.5 * float(
        (((counts - 1) * log(1 - share) + np.log(whole)) * np.bincount(jobs, weights=weights) / counts).sum()
    )
    return float(probable) + spread_out, middles, doubts, shape, rate


def _job_means(column: Floats, jobs: NDArray[np.intp], counts: NDArray[np.intp]) -> Floats:
    import numpy as np

    return (np.bincount(jobs, weights=column) / counts)[jobs]
