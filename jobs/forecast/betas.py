"""Chances that are known only in part: a Beta distribution of pseudo-counts, updated by what was seen.

Beta-binomial conjugacy, the mean and variance of a Beta: Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.4 and
appendix A.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

NORMAL = NormalDist()
# No chance is ever none or certain: what never happened here in fifty years may happen tomorrow.
LEAST = 1e-4
# A variance of nothing would be an infinite strength.
STRONGEST = 1e6


@dataclass(frozen=True, slots=True)
class Beta:
    """`alpha` pseudo-counts of yes and `beta` of no, both above 0."""

    alpha: float
    beta: float

    @property
    def mean(self) -> float:
        return self.alpha / (self.alpha + self.beta)

    @property
    def strength(self) -> float:
        return self.alpha + self.beta

    @property
    def variance(self) -> float:
        return self.mean * (1 - self.mean) / (self.strength + 1)

    def after(self, seen: float, yes: float) -> Beta:
        """What is known after `seen` more cases, `yes` of them yes; fractions count in part."""
        return Beta(self.alpha + yes, self.beta + seen - yes)

    def interval(self, share: float = 0.8) -> tuple[float, float]:
        """The middle range that holds the chance with probability `share`."""
        from scipy.special import betaincinv

        edge = (1 - share) / 2
        return float(betaincinv(self.alpha, self.beta, edge)), float(betaincinv(self.alpha, self.beta, 1 - edge))


def bounded(chance: float) -> float:
    return min(max(chance, LEAST), 1 - LEAST)


def of_mean(mean: float, strength: float) -> Beta:
    held = bounded(mean)
    return Beta(held * strength, (1 - held) * strength)


def of_moments(mean: float, variance: float) -> Beta:
    """The Beta of that mean and variance; where no Beta has it, the widest one that has a middle or the strongest."""
    held = bounded(mean)
    strength = held * (1 - held) / variance - 1 if variance > 0 else STRONGEST
    return of_mean(held, min(max(strength, 1e-2), STRONGEST))


def probit(chance: float) -> float:
    """The chance on the normal scale, where shifts can be added."""
    return NORMAL.inv_cdf(bounded(chance))


def shifted(chance: float, by: float) -> float:
    return NORMAL.cdf(probit(chance) + by) if by else chance
