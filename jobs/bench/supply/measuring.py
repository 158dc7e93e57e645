"""Means, extremes and squares of one period that was marched through."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from jobs.bench.supply.marching import Point


@dataclass(frozen=True, slots=True)
class Measured:
    """What one span shows; the currents are those of all anodes together, which for one span is one anode's."""

    reservoir_mean_v: float
    reservoir_max_v: float
    reservoir_min_v: float
    bplus_mean_v: float
    bplus_pp_v: float
    peak_a: float
    mean_a: float
    mean_square: float


def measure(trace: Sequence[Point], step_s: float, span_s: float) -> Measured:
    """Measure a trace of one span that begins where it ends; `step_s` is the time of one step number."""
    numbers, volts, bplus, amps = zip(*trace, strict=True)
    times = [number * step_s for number in numbers]
    widths = [later - sooner for sooner, later in pairwise(times)]
    highest, lowest = _extreme(times, volts, span_s, 1.0), _extreme(times, volts, span_s, -1.0)
    return Measured(
        reservoir_mean_v=_mean(widths, volts, span_s),
        reservoir_max_v=highest,
        reservoir_min_v=lowest,
        bplus_mean_v=_mean(widths, bplus, span_s),
        bplus_pp_v=_extreme(times, bplus, span_s, 1.0) - _extreme(times, bplus, span_s, -1.0),
        peak_a=_extreme(times, amps, span_s, 1.0),
        mean_a=_mean(widths, amps, span_s),
        mean_square=_mean_square(widths, amps, span_s),
    )


def _mean(widths: Sequence[float], values: Sequence[float], span_s: float) -> float:
    pairs = zip(widths, values, values[1:], strict=False)
    return sum(width * (one + other) for width, one, other in pairs) / (2 * span_s)


def _mean_square(widths: Sequence[float], values: Sequence[float], span_s: float) -> float:
    pairs = zip(widths, values, values[1:], strict=False)
    return sum(width * (one * one + one * other + other * other) for width, one, other in pairs) / (3 * span_s)


def _extreme(times: Sequence[float], values: Sequence[float], span_s: float, sign: float) -> float:
    """The largest value (the least for sign -1): the top of the parabola through the largest point and its neighbours."""
    last = len(values) - 1
    at = max(range(last), key=lambda index: sign * values[index])
    before_t, before = (times[at - 1], values[at - 1]) if at else (times[last - 1] - span_s, values[last - 1])
    after_t, after = times[at + 1], values[at + 1]
    return _vertex((before_t, before), (times[at], values[at]), (after_t, after))


def _vertex(before: tuple[float, float], top: tuple[float, float], after: tuple[float, float]) -> float:
    """The extreme of the parabola through three points; the middle one's own value where they lie on a line."""
    left, right = top[0] - before[0], after[0] - top[0]
    rise, fall = (top[1] - before[1]) / left, (after[1] - top[1]) / right
    bend = (fall - rise) / (left + right)
    if bend == 0:
        return top[1]
    slope = rise + bend * left
    return top[1] - slope * slope / (4 * bend)
