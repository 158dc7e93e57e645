"""From a circuit to its figures: the start is marched through, the steady state solved for, one period of it measured."""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from jobs.bench.supply.circuit import Supply
from jobs.bench.supply.marching import March, Passage, Point, State
from jobs.bench.supply.measuring import measure
from jobs.bench.supply.network import FINEST
from jobs.bench.supply.results import Result, StartUp, Waveform
from jobs.bench.supply.steady import steady_state

INRUSH_S = 0.2
_CYCLES = 12, 24
_COARSE_DEPTH = 7
_FIRST_FINER = 2
_START_PULSE, _STEADY_PULSE = 24, 48
"""Steps that a pulse of current gets at least. Errors fall with their square; 48 leave about 0.05 %."""
_START_STEPS, _STEADY_STEPS = 600, 850
"""Steps after which no further cycle is begun: what keeps odd circuits within the time of ordinary ones."""
_JUMP = 0.4
_LONGEST_PULSE = 256
_RECENT = 8
_REFINEMENTS = 2
_TRACE_LEAP = 6


def compute(supply: Supply) -> Result:
    """The steady state and the start of a supply. Pure; a few milliseconds; every Supply has an answer, and it is finite."""
    march = March(supply)
    passages = _start(march, _spans(supply, march))
    steady = _steady(supply, march, passages)
    return _result(supply, march, passages, steady)


@dataclass(frozen=True, slots=True)
class _Steady:
    """A span of the steady state, point by point, in 2^depth steps."""

    trace: list[Point]
    depth: int


def _spans(supply: Supply, march: March) -> int:
    """Spans to march from the start: past the swing of choke and smoothing, where the reservoir can stand highest."""
    least, most = _CYCLES
    cycles = min(most, max(least, math.ceil(_swing_s(supply) * supply.frequency_hz) + 2))
    return cycles * 2 if march.full_wave else cycles


def _swing_s(supply: Supply) -> float:
    return 2 * math.pi * math.sqrt(supply.choke_h * supply.smoothing_uf * 1e-6)


def _start(march: March, spans: int) -> list[Passage]:
    coarse = max(march.least_depth, _COARSE_DEPTH - march.full_wave)
    passages = [march.span((0.0, 0.0, 0.0), coarse + _FIRST_FINER)]
    depth, steps = coarse, passages[0].conducting
    while len(passages) < spans and steps < _START_STEPS:
        passages.append(march.span(passages[-1].state, depth))
        steps += passages[-1].conducting
        depth = _depth(march, passages[-1], _START_PULSE)
    return passages


def _steady(supply: Supply, march: March, passages: list[Passage]) -> _Steady:
    """The steady state, sought again in finer steps where its pulse of current turns out shorter than those of the start."""
    scale = _scale(supply, passages)
    recent = [pair for pair in pairwise(passages[-_RECENT:]) if pair[1].conducting] or [_fed(supply, march)]
    widest = max((one for _, one in recent), key=_share)
    state, depth, share = recent[-1][0].state, _depth(march, widest, _STEADY_PULSE), _share(widest)
    for turn in range(_REFINEMENTS):
        depth = _resolving(march, depth, share)
        state = steady_state(march, state, depth, scale, _STEADY_STEPS >> 2 * turn)
        trace: list[Point] = [(0, state[0], state[2], march.standing_amps(state[0]))]
        passage = march.span(state, depth, trace, _TRACE_LEAP)
        finer = _depth(march, passage, _STEADY_PULSE)
        if finer <= depth or 2 * passage.conducting > _STEADY_PULSE:
            break
        depth, share = finer, _share(passage)
    return _Steady(trace, depth)


def _share(passage: Passage) -> float:
    return passage.conducting / (1 << passage.depth)


def _fed(supply: Supply, march: March) -> tuple[Passage, Passage]:
    """Two spans that conduct, where a light load leaves the rectifier off for long after the start's swing: all but charged."""
    volts = 0.98 * march.crest_v
    amps = supply.load_amps or volts / (supply.load_ohms or 1.0)
    passage = march.span((volts, amps, volts - amps * supply.choke_ohms), _COARSE_DEPTH)
    return replace(passage, state=(volts, amps, volts - amps * supply.choke_ohms)), passage


def _depth(march: March, last: Passage, pulse: int) -> int:
    """As deep as gives the rectifier's pulse so many steps, and no deeper; as before where there was none."""
    finer = math.ceil(math.log2(pulse / last.conducting)) if last.conducting else 0
    return min(FINEST, max(march.least_depth, last.depth + finer))


def _resolving(march: March, depth: int, share: float) -> int:
    """Deeper by up to two where the rectifier's current jumps within a step: a small reservoir behind few ohms."""
    steps = march.span_s / (1 << depth) / march.settling_s
    wanted = depth + (steps > _JUMP) + (steps > 2 * _JUMP)
    return min(FINEST, max(depth, min(wanted, int(math.log2(_LONGEST_PULSE / share)))))


def _scale(supply: Supply, passages: list[Passage]) -> State:
    """The size of each part of the state; the choke's amps are those of its ringing with the reservoir, or the load's."""
    volts = max(one.reservoir_max_v for one in passages)
    amps = supply.load_amps or volts / (supply.load_ohms or 1.0)
    if supply.choke_h:
        amps = max(amps, volts * math.sqrt(supply.reservoir_uf * 1e-6 / supply.choke_h))
    return volts, amps, volts


def _result(supply: Supply, march: March, passages: list[Passage], steady: _Steady) -> Result:
    seconds = march.span_s / (1 << steady.depth)
    found = measure(steady.trace, seconds, march.span_s)
    anodes = 2 if march.full_wave else 1
    peak_a, highest_v = _starting_peaks(march, passages)
    return Result(
        reservoir_mean_v=found.reservoir_mean_v,
        reservoir_ripple_pp_v=found.reservoir_max_v - found.reservoir_min_v,
        bplus_mean_v=found.bplus_mean_v,
        bplus_ripple_pp_v=found.bplus_pp_v,
        rectifier_peak_a=found.peak_a,
        rectifier_rms_a=math.sqrt(found.mean_square / anodes),
        rectifier_mean_a=found.mean_a / anodes,
        inrush_peak_a=max(found.peak_a, peak_a),
        reservoir_startup_max_v=max(found.reservoir_max_v, highest_v),
        peak_no_load_v=supply.peak_no_load_v,
        load_mean_a=found.mean_a,
        waveform=_waveform(march, steady.trace, seconds),
        startup=_startup(march, passages),
    )


def _starting_peaks(march: March, passages: list[Passage]) -> tuple[float, float]:
    """The first anode's largest current in the inrush time, and the reservoir's largest voltage, each in fine steps."""
    within = range(0, min(len(passages), math.ceil(INRUSH_S / march.span_s)), 2 if march.full_wave else 1)
    hardest = max(within, key=lambda number: passages[number].peak_a)
    highest = max(range(len(passages)), key=lambda number: passages[number].reservoir_max_v)
    again = {number: _finer(march, passages, number) for number in {hardest, highest}}
    return again[hardest].peak_a, again[highest].reservoir_max_v


def _finer(march: March, passages: list[Passage], number: int) -> Passage:
    if number == 0:
        return passages[0]
    return march.span(passages[number - 1].state, min(FINEST, passages[number].depth + _FIRST_FINER))


def _waveform(march: March, trace: list[Point], seconds: float) -> Waveform:
    spans = 4 if march.full_wave else 2
    points = [
        (point[0] * seconds + number * march.span_s, point)
        for number in range(spans)
        for point in (trace if number == 0 else trace[1:])
    ]
    times = tuple(time for time, _ in points)
    _, volts, bplus, amps = zip(*(point for _, point in points), strict=True)
    return Waveform(times, volts, bplus, amps)


def _startup(march: March, passages: list[Passage]) -> StartUp:
    times = tuple((number + 1) * march.span_s for number in range(len(passages)))
    highest = tuple(one.reservoir_max_v for one in passages)
    return StartUp((0.0, *times), (0.0, *highest), (0.0, *(one.state[2] for one in passages)))
