"""What a bill comes to beside the logged minutes and parts: tasks at a fixed price, minutes not charged, sundries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log
from typing import TYPE_CHECKING

from jobs.forecast.lognormal import FURTHEST, Fit, Seen, fitted
from jobs.forecast.priors import figures

if TYPE_CHECKING:
    import numpy as np

    from jobs.forecast.lognormal import Floats

# Prior standard deviation of the shop's own way of billing, in spreads.
HABIT = 1.0
FAR = 3.0


@dataclass(frozen=True, slots=True)
class Rest:
    """Billed over logged, as a factor."""

    fit: Fit

    def drawn(self, fate: np.random.Generator, count: int) -> Floats:
        import numpy as np

        middle, spread = self.fit.drawn([{"billing": 1.0}], fate, count)
        deviation = middle[:, 0] + spread * fate.standard_normal(count)
        return np.asarray(np.exp(figures("rest")["spread"] * deviation.clip(-FURTHEST, FURTHEST)))


def learn_rest(shares: Sequence[tuple[float, float]]) -> Rest:
    """From (billed over logged, weight) of each past job. One far off is a bill of something else, or work that wasn't logged."""
    spread = figures("rest")["spread"]
    told = [(share, weight) for share, weight in shares if 1 / FAR <= share <= FAR]
    seen = [Seen(job, log(share) / spread, {"billing": 1.0}, weight) for job, (share, weight) in enumerate(told)]
    return Rest(fitted(seen, {"billing": HABIT}))
