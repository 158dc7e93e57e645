"""The places at which a chance is looked at: even on the arcsine scale, where a share is told as finely everywhere."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jobs.forecast.lognormal import Floats

GRID = 120


@cache
def points() -> Floats:
    """The chances of the grid."""
    import numpy as np

    return np.asarray(np.sin((np.arange(GRID) + 0.5) / GRID * np.pi / 2) ** 2)


@cache
def edges() -> Floats:
    """Where one place of the grid ends and the next begins."""
    import numpy as np

    return np.asarray(np.sin(np.arange(GRID + 1) / GRID * np.pi / 2) ** 2)


@cache
def nothing() -> Floats:
    """What an empty log says: the logarithm of the same for every chance."""
    import numpy as np

    return np.zeros(GRID)


def passes_from(means: Floats, strength: float) -> Floats:
    """How probable each place is (columns) for a Beta of each of those means (rows) and that strength."""
    import numpy as np
    from scipy.special import betainc

    middle = means[:, None]
    return np.asarray(np.diff(betainc(strength * middle, strength * (1 - middle), edges()), axis=1).clip(1e-300))
