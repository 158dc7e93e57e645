"""The linear part of a supply, and what it does over a stretch of time exactly.

Without the rectifier the circuit is linear: with the state x = (reservoir volts, choke amps, B+ volts) and the rectifier's
current i, x' = A·x + b·i + c. Over a stretch h, with i going in a straight line from i₀ to i₁,

    x(h) = e^(Ah)·x(0) + p₁·i₀ + (p₂/h)·(i₁ - i₀) + q,    p₁ = ∫e^(As)b ds,  p₂ = ∬e^(As)b ds ds,  q = ∫e^(As)c ds  over 0..h

which is exact and stable for any h. Series give all four for a very short stretch; then each doubling follows from the last:

    e^(2Ah) = (e^(Ah))²,  p₁(2h) = p₁ + e^(Ah)·p₁,  p₂(2h) = p₂ + h·p₁ + e^(Ah)·p₂.

e^(Ah) is kept as its difference from 1, lest a slow decay drown in rounding. Plain floats and loops written out: at this
size they are faster than arrays. SI base units.
"""

import math
from dataclasses import dataclass, replace

from jobs.bench.supply.circuit import Supply

FINEST = 12
COARSEST = 3
"""Stretches run from span/2^FINEST to span/2^COARSEST; a span is a half period for full-wave, a period for half-wave."""
FADING_V = 10.0
"""Below this B+ a constant-current load fades linearly to nothing, at 0 V."""

Vector = tuple[float, float, float]
Matrix = tuple[float, float, float, float, float, float, float, float, float]
Stretch = tuple[float, ...]
"""18 figures: e^(Ah) by rows, then what one ampere before, one ampere after, and the load add to the state."""

_SMALL = 0.1
_TERMS = 7
_LEAST_DEPTH = 5
_STEPS_PER_RING = 6
_RINGING_DEPTH = 7
_IDLE = -1000.0
"""Where there is no choke its current is not part of the circuit; it fades by itself, so that it has a steady state too."""


@dataclass(frozen=True, slots=True)
class Regime:
    """The load within a range of B+: a conductance and a constant current, with its stretches by depth (span/2^depth)."""

    least_v: float
    most_v: float
    stretches: tuple[Stretch, ...]


def load_ranges(supply: Supply) -> tuple[tuple[float, float, float, float], ...]:
    """(from volts, to volts, siemens, amps) of the load, piece by piece."""
    if supply.load_ohms is not None:
        return ((-math.inf, math.inf, 1 / supply.load_ohms, 0.0),)
    amps = supply.load_amps or 0.0
    return (-math.inf, 0.0, 0.0, 0.0), (0.0, FADING_V, amps / FADING_V, 0.0), (FADING_V, math.inf, 0.0, amps)


def regime(supply: Supply, piece: tuple[float, float, float, float], span_s: float, settling_s: float) -> Regime:
    """The stretches of one piece of the load. `settling_s` is the shortest time constant of reservoir and rectifier."""
    least_v, most_v, siemens, amps = piece
    rates, per_amp, steady = _equations(supply, siemens, amps)
    stretches = _ladder(rates, per_amp, steady, span_s, settling_s)
    if _is_lumped(supply):
        stretches = tuple(_lumped(one) for one in stretches)
    return Regime(least_v, most_v, stretches)


def resolved(supply: Supply, span_s: float) -> tuple[int, Supply]:
    """The least depth that resolves the ringing of choke and capacitors, and the supply to march.

    A choke that rings faster than a depth of 7 resolves smooths nothing at the line's frequency: it is left out.
    """
    first, second, henries = supply.reservoir_uf * 1e-6, supply.smoothing_uf * 1e-6, supply.choke_h
    if henries == 0 or supply.choke_ohms > 2 * math.sqrt(henries * (first + second) / (first * second)):
        return _LEAST_DEPTH, supply
    ring_s = 2 * math.pi * math.sqrt(henries * first * second / (first + second))
    depth = math.ceil(math.log2(_STEPS_PER_RING * span_s / ring_s))
    if depth > _RINGING_DEPTH:
        return _LEAST_DEPTH, replace(supply, choke_h=0.0)
    return max(_LEAST_DEPTH, depth), supply


def _is_lumped(supply: Supply) -> bool:
    return supply.choke_h == 0 and supply.choke_ohms == 0


def _equations(supply: Supply, siemens: float, amps: float) -> tuple[Matrix, Vector, Vector]:
    """A by rows, b and c of x' = A·x + b·i + c."""
    reservoir, smoothing, ohms = supply.reservoir_uf * 1e-6, supply.smoothing_uf * 1e-6, supply.choke_ohms
    if _is_lumped(supply):
        farads = reservoir + smoothing
        return (-siemens / farads, 0.0, 0.0, 0.0, _IDLE, 0.0, 0.0, 0.0, 0.0), (1 / farads, 0.0, 0.0), (-amps / farads, 0.0, 0.0)
    per_amp, steady = (1 / reservoir, 0.0, 0.0), (0.0, 0.0, -amps / smoothing)
    if supply.choke_h:
        first = (0.0, -1 / reservoir, 0.0)
        choke = (1 / supply.choke_h, -ohms / supply.choke_h, -1 / supply.choke_h)
        return (*first, *choke, 0.0, 1 / smoothing, -siemens / smoothing), per_amp, steady
    first = (-1 / (ohms * reservoir), 0.0, 1 / (ohms * reservoir))
    return (*first, 0.0, _IDLE, 0.0, 1 / (ohms * smoothing), 0.0, -(1 / ohms + siemens) / smoothing), per_amp, steady


def _lumped(stretch: Stretch) -> Stretch:
    """B+ is the reservoir itself: its row repeats the first one."""
    changed = list(stretch)
    for at in (6, 9, 12, 15):
        width = 3 if at == 6 else 1
        source = 0 if at == 6 else at
        target = 6 if at == 6 else at + 2
        changed[target : target + width] = stretch[source : source + width]
    return tuple(changed)


def _ladder(rates: Matrix, per_amp: Vector, steady: Vector, span_s: float, settling_s: float) -> tuple[Stretch, ...]:
    """The stretches, indexed by depth."""
    size = max(sum(map(abs, rates[row : row + 3])) for row in (0, 3, 6))
    halvings = FINEST + max(0, math.ceil(math.log2(max(size * span_s / 2**FINEST / _SMALL, 1.0))))
    seconds = span_s / 2**halvings
    grown, once, twice, load = _series(rates, per_amp, steady, seconds)
    ladder: list[Stretch] = []
    for depth in range(halvings, COARSEST - 1, -1):
        if depth <= FINEST:
            ladder.append(_stretch(grown, once, twice, load, seconds, settling_s))
        twice = _plus(twice, _plus(_times(seconds, once), _applied(grown, twice)))
        once, load = _plus(once, _applied(grown, once)), _plus(load, _applied(grown, load))
        grown = _doubled(grown)
        seconds *= 2
    return (*((),) * COARSEST, *reversed(ladder))


def _series(rates: Matrix, per_amp: Vector, steady: Vector, seconds: float) -> tuple[Matrix, Vector, Vector, Vector]:
    """e^(Ah) - 1, p₁, p₂ and q of a short stretch by their power series."""
    step: Matrix = tuple(rate * seconds for rate in rates)  # type: ignore[assignment]
    power, grown = step, step
    source, once, twice = per_amp, _times(seconds, per_amp), _times(seconds * seconds / 2, per_amp)
    drain, load = steady, _times(seconds, steady)
    factorial = 1.0
    for order in range(2, _TERMS + 1):
        factorial *= order
        source, drain = _moved(step, source), _moved(step, drain)
        once = _plus(once, _times(seconds / factorial, source))
        load = _plus(load, _times(seconds / factorial, drain))
        twice = _plus(twice, _times(seconds * seconds / (factorial * (order + 1)), source))
        power = _product(power, step)
        grown = tuple(one + more / factorial for one, more in zip(grown, power, strict=True))  # type: ignore[assignment]
    return grown, once, twice, load


def _stretch(grown: Matrix, once: Vector, twice: Vector, load: Vector, seconds: float, settling_s: float) -> Stretch:
    """The 18 figures. The current's weight is shifted from before to after so far as rectifier and reservoir are stiff.

    With the straight line alone a step far longer than their time constant would ring. The shift makes a step's decay
    that of the time constant exactly (an exponentially fitted θ method): none for short steps, all of it for long ones.
    """
    ratio = seconds / settling_s
    theta = 0.5 + ratio / 12 if ratio < 1e-3 else 1 / -math.expm1(-ratio) - 1 / ratio
    share = min(1.0, 2 * theta - 1)
    after = _times(1 / seconds, twice)
    before = _plus(once, _times(-1.0, after))
    after, before = _plus(after, _times(share, before)), _times(1 - share, before)
    m = grown
    return (1 + m[0], m[1], m[2], m[3], 1 + m[4], m[5], m[6], m[7], 1 + m[8], *before, *after, *load)


def _times(factor: float, v: Vector) -> Vector:
    return factor * v[0], factor * v[1], factor * v[2]


def _plus(v: Vector, u: Vector) -> Vector:
    return v[0] + u[0], v[1] + u[1], v[2] + u[2]


def _moved(m: Matrix, v: Vector) -> Vector:
    x, y, z = v
    return m[0] * x + m[1] * y + m[2] * z, m[3] * x + m[4] * y + m[5] * z, m[6] * x + m[7] * y + m[8] * z


def _applied(grown: Matrix, v: Vector) -> Vector:
    """e^(Ah)·v from the matrix kept as its difference from 1."""
    return _plus(v, _moved(grown, v))


def _product(m: Matrix, n: Matrix) -> Matrix:
    a, b, c, d, e, f, g, h, i = m
    j, k, l, o, p, q, r, s, t = n  # noqa: E741
    return (
        a * j + b * o + c * r,
        a * k + b * p + c * s,
        a * l + b * q + c * t,
        d * j + e * o + f * r,
        d * k + e * p + f * s,
        d * l + e * q + f * t,
        g * j + h * o + i * r,
        g * k + h * p + i * s,
        g * l + h * q + i * t,
    )


def _doubled(grown: Matrix) -> Matrix:
    """e^(2Ah) - 1 = 2·(e^(Ah) - 1) + (e^(Ah) - 1)²."""
    return tuple(2 * one + square for one, square in zip(grown, _product(grown, grown), strict=True))  # type: ignore[return-value]
