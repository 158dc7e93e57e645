"""The tree of kinds: the chance of each kind scatters around that of the kind above, and all are summed over exactly.

A chance is a place on a grid, even on the arcsine scale; from a kind to the one below leads a Beta of stated strength. Messages
run up the tree (what a kind's own log says of the one above: beta-binomial) and down again (all but its own log), so nothing is
counted twice and no doubt is lost: the sum-product rule on a tree, for the model of Gelman et al., Bayesian Data Analysis, 3rd
ed., section 5.3, with strengths that are stated instead of fitted.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from jobs.forecast.betas import Beta, of_moments
from jobs.forecast.grid import nothing, passes_from, points
from jobs.forecast.habit import Habit
from jobs.forecast.priors import family_shifts, figures

if TYPE_CHECKING:
    from jobs.forecast.lognormal import Floats

LEVELS = ("family", "age_band", "supply_kind")
LEAF = 4

Path = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tied:
    """What is known of one kind. `tie` (-1..1) is the correlation of its doubt with that of the kind above."""

    known: Beta
    tie: float


class Kinds:
    """Kinds by path: (role), (role, family), (role, family, age band), and with the supply as the leaf that counts belong to."""

    def __init__(self, counts: Mapping[Path, tuple[float, float]], shared_doubt: float) -> None:
        self._counts = counts
        # Logarithm of how probable the log below a kind is, by its chance; and what that says of the kind above.
        self._own: dict[Path, Floats] = {}
        self._told: dict[Path, Floats] = {}
        self._before: dict[Path, Floats] = {}
        self._known: dict[Path, Tied] = {}
        self._sum_up()
        roles = {path[0]: own for path, own in self._own.items() if len(path) == 1}
        self._habit = Habit(roles, shared_doubt)

    def tied(self, path: Path) -> Tied:
        if path not in self._known:
            self._known[path] = self._leaf(path) if len(path) == LEAF else self._inner(path)
        return self._known[path]

    def _sum_up(self) -> None:
        below: dict[Path, list[Path]] = defaultdict(list)
        for path in {path[:length] for path in self._counts for length in range(1, LEAF + 1)}:
            below[path[:-1]].append(path)
        for path in sorted(self._counts):
            self._told[path] = _log_seen(path, *self._counts[path])
        for length in range(LEAF - 1, 0, -1):
            for path in sorted(one for one in below if len(one) == length):
                self._own[path] = sum((self._told[child] for child in sorted(below[path])), start=nothing())
                if length > 1:
                    self._told[path] = _handed_up(path, self._own[path])

    def _inner(self, path: Path) -> Tied:
        """Of a kind that has kinds below it, from its joint distribution with the one above."""
        own = _plain(self._own.get(path, nothing()))
        if len(path) == 1:
            above, joint = self._habit.shifts, self._habit.passed(path[0]) * own
        else:
            above, joint = points(), self._without(path)[:, None] * passes(*_step(path)) * own
        joint = joint / joint.sum()
        middle, variance = _moments(points(), joint.sum(axis=0))
        top, top_variance = _moments(above, joint.sum(axis=1))
        common = float((above - top) @ joint @ (points() - middle))
        return Tied(of_moments(middle, variance), _tie(common, variance, top_variance))

    def _leaf(self, path: Path) -> Tied:
        """Of a kind that counts belong to: a Beta for each chance of the one above, weighed by how probable that is."""
        seen, yes = self._counts.get(path, (0.0, 0.0))
        strength, shift = _step(path)
        weights = self._without(path) * _plain(self._told.get(path, nothing()))
        weights = weights / weights.sum()
        each = (strength * means(shift) + yes) / (strength + seen)
        middle, between = _moments(each, weights)
        within = float(weights @ (each * (1 - each))) / (strength + seen + 1)
        top, top_variance = _moments(points(), weights)
        common = float(weights @ ((each - middle) * (points() - top)))
        return Tied(of_moments(middle, between + within), _tie(common, between + within, top_variance))

    def _without(self, path: Path) -> Floats:
        """What is known of the kind above without what this one told it."""
        above = path[:-1]
        if path not in self._told:
            return self._posterior(above)
        others = self._own[above] - self._told[path]
        raw = self._prior(above) * _plain(others)
        return raw / raw.sum()

    def _posterior(self, path: Path) -> Floats:
        raw = self._prior(path) * _plain(self._own.get(path, nothing()))
        return raw / raw.sum()

    def _prior(self, path: Path) -> Floats:
        """What is known of a kind without its own log."""
        if path not in self._before:
            told = self._habit.passed(path[0]).sum(axis=0) if len(path) == 1 else self._without(path) @ passes(*_step(path))
            self._before[path] = told / told.sum()
        return self._before[path]


def _tie(common: float, variance: float, top_variance: float) -> float:
    return max(-0.999, min(common / max((variance * top_variance) ** 0.5, 1e-12), 0.999))


def _moments(values: Floats, weights: Floats) -> tuple[float, float]:
    middle = float(values @ weights)
    return middle, float((values - middle) ** 2 @ weights)


def _plain(logs: Floats) -> Floats:
    """Out of logarithms, the largest 1."""
    import numpy as np

    return np.asarray(np.exp(logs - logs.max()))


def _handed_up(path: Path, own: Floats) -> Floats:
    import numpy as np

    return np.asarray(np.log(passes(*_step(path)) @ _plain(own)))


def _log_seen(path: Path, seen: float, yes: float) -> Floats:
    """Logarithm of how probable a leaf's counts are for each chance of the kind above: beta-binomial, but for a constant."""
    import numpy as np
    from scipy.special import betaln

    strength, shift = _step(path)
    alpha, beta = strength * means(shift), strength * (1 - means(shift))
    return np.asarray(betaln(alpha + yes, beta + seen - yes) - betaln(alpha, beta))


def _step(path: Path) -> tuple[float, float]:
    """(strength, shift) of the step that leads down to this kind."""
    return _strengths()[len(path) - 2], family_shifts().get(path[1], 0.0) if len(path) == 2 else 0.0


@cache
def _strengths() -> tuple[float, ...]:
    rows = figures("levels")
    return tuple(rows[level] for level in LEVELS)


@cache
def means(shift: float) -> Floats:
    """The mean of the kind below for each chance of the one above."""
    import numpy as np
    from scipy.special import ndtr, ndtri

    return np.asarray(ndtr(ndtri(points()) + shift) if shift else points())


@cache
def passes(strength: float, shift: float) -> Floats:
    """How probable each chance of the kind below is (columns) for each of the one above (rows)."""
    return passes_from(means(shift), strength)
