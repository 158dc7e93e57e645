"""How often something happens a day, known only in part: a Gamma distribution, updated by what was counted (Gamma-Poisson)."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Rate:
    """`shape` happenings in `exposure` of time: what is known is worth that much counting. Both above 0."""

    shape: float
    exposure: float

    @property
    def mean(self) -> float:
        return self.shape / self.exposure

    def after(self, count: float, exposure: float) -> Rate:
        return Rate(self.shape + count, self.exposure + exposure)
