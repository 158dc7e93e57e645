"""The supply in time: where the rectifier conducts, short steps; where it doesn't, leaps to just before it does.

A step takes the linear part exactly (`network`). Its one unknown is the rectifier's current i at the step's end. The state
there is α + β·i, α known, so the rectifier sees d = e - α volts, shared by its own drop v and (source ohms + β)·i:

    linear         i = d / (ohms + source ohms + β)
    three halves   w² + (source ohms + β)·P·w³ = d   with w = √v, i = P·w³

The left side of the second rises and is convex for w > 0, so Newton's method always gets there, in two or three turns.
d < 0 means that the rectifier is off. Then the next state is linear in the last, and a leap of any power of two of steps
costs one product; it is taken unless it ends where the rectifier conducts (or the load changes its law), else halved. No
leap passes a crest of the AC voltage, where a light load's short pulse of current sits.
"""

import math
from dataclasses import dataclass

from jobs.bench.supply.circuit import Supply
from jobs.bench.supply.laws import Linear
from jobs.bench.supply.network import COARSEST, FADING_V, Regime, load_ranges, regime, resolved

State = tuple[float, float, float]
"""Reservoir volts, choke amps, B+ volts."""
Point = tuple[int, float, float, float]
"""Step number, reservoir volts, B+ volts, rectifier amps."""

_TURNS = 40
_LIMIT = 1e-5
"""Newton's method squares what is left of the error in each turn: after a change this small none is worth while."""


@dataclass(frozen=True, slots=True)
class Passage:
    """What one span did: the state at its end, the largest voltage and current in it, and in how many of its
    2^depth steps the rectifier conducted."""

    state: State
    reservoir_max_v: float
    peak_a: float
    conducting: int
    depth: int


class March:
    """One supply, ready to be marched through spans (half periods of a full-wave circuit, whole ones of a half-wave).

    `settling_s` is the shortest time constant of reservoir and conducting rectifier.
    """

    def __init__(self, supply: Supply) -> None:
        self.full_wave = supply.topology == "full-wave"
        self.crest_v = supply.peak_no_load_v
        self.span_s = (0.5 if self.full_wave else 1.0) / supply.frequency_hz
        self.angle = math.pi if self.full_wave else 2 * math.pi
        self.source_ohms = supply.source_ohms
        self.linear_ohms = float(supply.rectifier.ohms) if isinstance(supply.rectifier, Linear) else None
        self.perveance = 0.0 if isinstance(supply.rectifier, Linear) else float(supply.rectifier.perveance)
        self.least_depth, self._supply = resolved(supply, self.span_s)
        self.settling_s = self._least_ohms() * supply.first_capacitor_uf * 1e-6
        self._pieces = load_ranges(supply)
        self._regimes: dict[int, Regime] = {}

    def regime_at(self, bplus_v: float) -> Regime:
        """The load's piece at this B+, its stretches computed when first met."""
        number = 0 if len(self._pieces) == 1 or bplus_v < 0 else 1 if bplus_v < FADING_V else 2
        if number not in self._regimes:
            self._regimes[number] = regime(self._supply, self._pieces[number], self.span_s, self.settling_s)
        return self._regimes[number]

    def _least_ohms(self) -> float:
        """Source and rectifier at the largest current there can be: the slope of a valve's curve falls with current."""
        if self.linear_ohms is not None:
            return self.source_ohms + self.linear_ohms
        root = root_of_drop(self.crest_v, self.source_ohms * self.perveance, math.sqrt(self.crest_v))
        return self.source_ohms + 2 / (3 * self.perveance * root)

    def span(self, state: State, depth: int, trace: list[Point] | None = None, leap: int = COARSEST + 1) -> Passage:
        """March one span from the AC voltage's zero in 2^depth steps, leaping at most span/2^leap; `trace` gets every point."""
        steps = 1 << depth
        crest_step = steps >> (1 if self.full_wave else 2)
        longest = 1 << max(0, depth - leap)
        crest_v, turn, sin = self.crest_v, self.angle / steps, math.sin
        source_ohms, linear_ohms, perveance, full_wave = self.source_ohms, self.linear_ohms, self.perveance, self.full_wave
        volts, choke, bplus = state
        amps = self.standing_amps(volts)
        root = last_root = 0.0
        top_v, top_a, conducting, step = volts, 0.0, 0, 0
        load = self.regime_at(bplus)
        least_v, most_v, stretches = load.least_v, load.most_v, load.stretches
        while True:
            # off: leap
            size, level = longest, depth - longest.bit_length() + 1
            stop = crest_step if step < crest_step else steps
            while size > 1 and step < steps and amps == 0.0:
                ahead = step + size
                if ahead <= stop:
                    a, b, c, d, e, f, g, h, i, _, _, _, _, _, _, q, r, s = stretches[level]
                    volts_then = a * volts + b * choke + c * bplus + q
                    bplus_then = g * volts + h * choke + i * bplus + s
                    if crest_v * sin(turn * ahead) <= volts_then and least_v <= bplus_then <= most_v:
                        choke = d * volts + e * choke + f * bplus + r
                        volts, bplus, step = volts_then, bplus_then, ahead
                        if volts > top_v:
                            top_v = volts
                        if trace is not None:
                            trace.append((step, volts, bplus, 0.0))
                        if step == stop:
                            size, level, stop = longest, depth - longest.bit_length() + 1, steps
                        continue
                size >>= 1
                level += 1
            if step >= steps:
                break
            # on, or about to be: step
            a, b, c, d, e, f, g, h, i, j, k, l, m, n, o, q, r, s = stretches[depth]  # noqa: E741
            total = source_ohms + m
            rising = total * perveance
            while step < steps:
                step += 1
                alpha = a * volts + b * choke + c * bplus + j * amps + q
                choke_then = d * volts + e * choke + f * bplus + k * amps + r
                bplus = g * volts + h * choke + i * bplus + l * amps + s
                drive = crest_v * sin(turn * step)
                left = drive - alpha
                if left <= 0.0:
                    amps = root = last_root = 0.0
                elif linear_ohms is not None:
                    amps = left / (linear_ohms + total)
                else:
                    guess = root + root - last_root
                    last_root = root
                    if guess <= 0.3 * root or root == 0.0:
                        guess = root or min(math.sqrt(left), (left / rising) ** (1 / 3))
                    root = guess
                    for _ in range(_TURNS):
                        change = (root * root * (1.0 + rising * root) - left) / (root * (2.0 + 3.0 * rising * root))
                        root -= change
                        if -_LIMIT * root < change < _LIMIT * root:
                            break
                    amps = perveance * root * root * root
                volts = alpha + m * amps
                if full_wave and volts < -drive:
                    amps = self._both_anodes(alpha, m)
                    volts = alpha + m * amps
                choke = choke_then + n * amps
                bplus += o * amps
                if volts > top_v:
                    top_v = volts
                if amps > top_a:
                    top_a = amps
                if trace is not None:
                    trace.append((step, volts, bplus, amps))
                if not least_v <= bplus <= most_v:
                    load = self.regime_at(bplus)
                    least_v, most_v, stretches = load.least_v, load.most_v, load.stretches
                    break
                if amps == 0.0:
                    break
                conducting += 1
        return Passage((volts, choke, bplus), top_v, top_a, conducting, depth)

    def standing_amps(self, volts: float) -> float:
        """The current at the AC voltage's zero: none, unless the choke has pulled the reservoir below it."""
        if volts >= 0.0:
            return 0.0
        anodes = 2 if self.full_wave else 1
        if self.linear_ohms is not None:
            return -anodes * volts / (self.linear_ohms + self.source_ohms)
        root = root_of_drop(-volts, self.source_ohms * self.perveance, math.sqrt(-volts))
        return anodes * self.perveance * root**3

    def _both_anodes(self, alpha: float, beta: float) -> float:
        """The current where the choke has pulled the reservoir below both anodes, taken to share it evenly."""
        if self.linear_ohms is not None:
            return -2 * alpha / (self.linear_ohms + self.source_ohms + 2 * beta)
        rising = (self.source_ohms + 2 * beta) * self.perveance
        root = root_of_drop(-alpha, rising, math.sqrt(-alpha))
        return 2 * self.perveance * root**3


def root_of_drop(volts: float, rising: float, root: float) -> float:
    """The root of a valve's drop: w with w² + rising·w³ = volts, from a guess at or above it."""
    for _ in range(_TURNS):
        change = (root * root * (1.0 + rising * root) - volts) / (root * (2.0 + 3.0 * rising * root))
        root -= change
        if abs(change) <= _LIMIT * root:
            break
    return root
