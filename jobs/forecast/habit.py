"""How much more or less than usual a shop replaces: one shift for all roles, on the normal scale, known only in part."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING

from jobs.forecast.betas import bounded, probit
from jobs.forecast.grid import passes_from
from jobs.forecast.priors import figures, role_prior

if TYPE_CHECKING:
    from jobs.forecast.lognormal import Floats

# Shifts are tried in quarters of their usual spread, so far either way.
QUARTERS = 14


class Habit:
    """`logs`: by role, the logarithm of how probable its log is for each chance of the grid."""

    def __init__(self, logs: Mapping[str, Floats], shared_doubt: float) -> None:
        import numpy as np

        self.shifts = _shifts()
        self._doubt = shared_doubt
        self._told = {role: np.log(_passes(role) @ np.exp(own - own.max())) for role, own in sorted(logs.items())}

    def passed(self, role: str) -> Floats:
        """Shift × chance of the role: how probable both are, from what all other roles show."""
        return self._weights(role)[:, None] * _passes(role)

    def _weights(self, but: str) -> Floats:
        import numpy as np

        logs = sum((told for role, told in self._told.items() if role != but), start=np.log(_usual()))
        weights = np.exp(logs - logs.max())
        if self._doubt and self._told:
            # All that was seen comes from few sets, which have something in common: so the shift is less sure.
            weights = np.exp(-((self.shifts[:, None] - self.shifts) ** 2) / (2 * self._doubt)) @ weights
        return np.asarray(weights / weights.sum())


@cache
def _passes(role: str) -> Floats:
    """How probable each chance of the role is (columns) under each shift (rows)."""
    return passes_from(_means(role), role_prior(role).strength)


@cache
def _shifts() -> Floats:
    import numpy as np

    return np.asarray(figures("shop")["habit"] * np.arange(-QUARTERS, QUARTERS + 1) / 4)


@cache
def _usual() -> Floats:
    """How probable each shift is before any log."""
    import numpy as np

    raw = np.exp(-((np.arange(-QUARTERS, QUARTERS + 1) / 4) ** 2) / 2)
    return np.asarray(raw / raw.sum())


@cache
def _means(role: str) -> Floats:
    """The role's chance under each shift; their mean is the row of priors.toml (an identity of the normal distribution)."""
    import numpy as np
    from scipy.special import ndtr

    middle = probit(role_prior(role).chance) * (1 + figures("shop")["habit"] ** 2) ** 0.5
    return np.asarray([bounded(float(one)) for one in ndtr(middle + _shifts())])
