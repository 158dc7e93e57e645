"""How alike the positions of one set are: damp, heat or an earlier repairer spoil or spare many of them together.

On the normal scale a position's doubt is part the set's, part its own (a one-factor normal copula), so the chance of each
position stays what it is while their number scatters more. How large the set's part is, the log says against a stated prior.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from jobs.forecast.betas import probit
from jobs.forecast.likelihood import Cell, Likelihoods
from jobs.forecast.priors import table

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from jobs.forecast.lognormal import Floats

# Where the set's part is tried, in standard deviations.
NODES = 41
REACH = 3.5
# The newest jobs are enough to tell how alike positions are, and keep learning short.
MOST_JOBS = 300


@dataclass(frozen=True, slots=True)
class SetShare:
    """How probable each share of doubt is that positions of a set have in common."""

    shares: tuple[float, ...]
    weights: tuple[float, ...]

    @classmethod
    def usual(cls) -> SetShare:
        rows = table()["set"]
        total = sum(rows["weights"])
        return cls(tuple(float(one) for one in rows["shares"]), tuple(one / total for one in rows["weights"]))

    @property
    def middle(self) -> float:
        return sum(share * weight for share, weight in zip(self.shares, self.weights, strict=True))

    def drawn(self, known: Sequence[tuple[float, bool]], fate: np.random.Generator, count: int) -> tuple[Floats, Floats]:
        """(share, the set's part) of each draw, in the light of known positions: (chance on the normal scale, replaced)."""
        import numpy as np

        nodes = _nodes()
        usual = np.log(np.maximum(self.weights, 1e-300))[:, None] - nodes**2 / 2
        logs = np.array([_log_known(share, known) for share in self.shares]) + usual
        weights = np.exp(logs - logs.max()).ravel()
        steps = (np.arange(count) + fate.random(count)) / count
        picked = np.searchsorted(np.cumsum(weights) / weights.sum(), steps).clip(0, weights.size - 1)
        fate.shuffle(picked)
        gap = nodes[1] - nodes[0]
        jitter = (fate.random(count) - 0.5) * gap
        return np.array(self.shares)[picked // NODES], nodes[picked % NODES] + jitter


def _nodes() -> Floats:
    import numpy as np

    return np.linspace(-REACH, REACH, NODES)


def _log_known(share: float, known: Sequence[tuple[float, bool]]) -> Floats:
    """Logarithm of how probable the known states are at each node of the set's part."""
    import numpy as np
    from scipy.special import log_ndtr

    if not known:
        return np.zeros(NODES)
    chances = np.array([one for one, _ in known])
    signs = np.array([1.0 if replaced else -1.0 for _, replaced in known])
    inside = (chances[:, None] + share**0.5 * _nodes()) / (1 - share) ** 0.5
    return np.asarray(log_ndtr(signs[:, None] * inside).sum(axis=0))


def learn_set_share(jobs: Sequence[Sequence[tuple[Cell, bool]]], likelihoods: Likelihoods) -> SetShare:
    """From the states of the positions of each past job."""
    import numpy as np
    from scipy.special import log_ndtr

    prior = SetShare.usual()
    told = [job for job in jobs if len(job) > 1][-MOST_JOBS:]
    if not told:
        return prior
    chances = {cell: probit(likelihoods.of(cell).mean) for cell in sorted({cell for job in told for cell, _ in job})}
    middles = np.array([chances[cell] for job in told for cell, _ in job])
    signs = np.array([1.0 if replaced else -1.0 for job in told for _, replaced in job])
    owner = np.repeat(np.arange(len(told)), [len(job) for job in told])
    starts = np.flatnonzero(np.diff(owner, prepend=-1))
    logs = np.log(prior.weights) + [_log_share(share, middles, signs, starts, log_ndtr) for share in prior.shares]
    weights = np.exp(logs - logs.max())
    return SetShare(prior.shares, tuple(float(one) for one in weights / weights.sum()))


def _log_share(share: float, middles: Floats, signs: Floats, starts: NDArray[np.intp], log_ndtr: np.ufunc) -> float:
    """Logarithm of how probable all jobs are, each with its set's part averaged over."""
    import numpy as np

    nodes = np.linspace(-REACH, REACH, 15)
    usual = np.exp(-(nodes**2) / 2)
    inside = signs[:, None] * (middles[:, None] + share**0.5 * nodes) / (1 - share) ** 0.5
    by_job = np.add.reduceat(log_ndtr(inside), starts, axis=0)
    top = by_job.max(axis=1, keepdims=True)
    return float((np.log(np.exp(by_job - top) @ (usual / usual.sum())) + top[:, 0]).sum())
