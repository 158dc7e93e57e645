"""Whether past ranges held what they promised, and how much wider or narrower the next ones must be.

Split-conformal: how far each price lay outside the middle, in half-ranges of its own forecast; the factor under which 80 of 100
would have been inside (the quantile at ceil(0.8 (n + 1)): Angelopoulos and Bates, A Gentle Introduction to Conformal Prediction,
section 1). Few forecasts say little, so the factor is held to 1 as if by `HELD` forecasts that were right.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, exp, log

PROMISED = 0.8
FEWEST = 20
HELD = 30
NARROWEST, WIDEST = 0.7, 3.0
# (low, median, high, what it came to), minor units
Past = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Calibration:
    """`factor` by which the range widens (below 1: narrows) on the logarithm; `inside` of `n` past prices lay in their range."""

    factor: float
    n: int
    inside: int
    words: str

    @property
    def share_inside(self) -> float | None:
        return self.inside / self.n if self.n else None


def calibrate(past: Sequence[Past]) -> Calibration:
    """From past forecasts and what those jobs came to; rows with nothing to compare are passed over."""
    told = [row for row in past if 0 < row[0] <= row[1] <= row[2] and row[3] > 0]
    inside = sum(low <= actual <= high for low, _, high, actual in told)
    count = len(told)
    if count < FEWEST:
        return Calibration(1.0, count, inside, _too_few(count))
    offs = sorted(_off(*row) for row in told)
    plain = offs[min(ceil(PROMISED * (count + 1)), count) - 1]
    factor = exp(log(max(plain, 1e-3)) * count / (count + HELD))
    factor = min(max(factor, NARROWEST), WIDEST)
    return Calibration(factor, count, inside, _said(factor, count, inside))


def _off(low: float, median: float, high: float, actual: float) -> float:
    edge = high if actual > median else low
    return abs(log(actual / median)) / max(abs(log(edge / median)), 1e-3)


def _too_few(count: int) -> str:
    so_far = "No forecast can" if not count else "1 forecast can" if count == 1 else f"{count} forecasts can"
    return f"{so_far} be held against what the job came to yet; from {FEWEST} on the ranges are corrected by how well they did."


def _said(factor: float, count: int, inside: int) -> str:
    held = f"{inside} of {count} past prices lay within their range (80 of 100 should)"
    if abs(factor - 1) < 0.03:
        return f"{held}: it is left as it is."
    change = f"{abs(factor - 1):.0%}".replace("%", " %")
    return f"{held}: it is made {change} {'wider' if factor > 1 else 'narrower'}."
