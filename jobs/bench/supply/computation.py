"""From a circuit to its figures: the start is marched through, the steady state solved for, one period of it measured."""

import math

from jobs.bench.supply.circuit import Supply
from jobs.bench.supply.marching import March, Passage, Point, State
from jobs.bench.supply.measuring import Measured, measure
from jobs.bench.supply.network import FINEST
from jobs.bench.supply.results import Result, StartUp, Waveform
from jobs.bench.supply.steady import steady_state

INRUSH_S = 0.2
_CYCLES = 12, 24
_COARSE_DEPTH = 7
_FIRST_FINER = 2
_LEAST_CONDUCTING = 48
_TRACE_LEAP = 6


def compute(supply: Supply) -> Result:
    """The steady state and the start of a supply. Pure; a few milliseconds; every Supply has an answer, and it is finite."""
    march = March(supply)
    coarse = _COARSE_DEPTH - march.full_wave
    passages = _start(march, coarse, _spans(supply, march))
    depth = _depth(coarse, passages[-1].conducting)
    state = steady_state(march, passages[-1].state, depth, _scale(supply, passages))
    trace: list[Point] = [(0, state[0], state[2], 0.0)]
    march.span(state, depth, trace, _TRACE_LEAP)
    return _result(supply, march, passages, trace, depth)


def _spans(supply: Supply, march: March) -> int:
    """Spans to march from the start: past the swing of choke and smoothing, where the reservoir can stand highest."""
    swing_s = 2 * math.pi * math.sqrt(supply.choke_h * supply.smoothing_uf * 1e-6)
    least, most = _CYCLES
    cycles = min(most, max(least, math.ceil(swing_s * supply.frequency_hz) + 2))
    return cycles * 2 if march.full_wave else cycles


def _start(march: March, depth: int, spans: int) -> list[Passage]:
    passages = [march.span((0.0, 0.0, 0.0), depth + _FIRST_FINER)]
    for _ in range(spans - 1):
        passages.append(march.span(passages[-1].state, depth))
    return passages


def _depth(coarse: int, conducting: int) -> int:
    """As deep as gives the pulse of current enough steps."""
    finer = math.ceil(math.log2(_LEAST_CONDUCTING / max(1, conducting)))
    return min(FINEST, coarse + max(0, finer))


def _scale(supply: Supply, passages: list[Passage]) -> State:
    volts = max(one.reservoir_max_v for one in passages)
    amps = supply.load_amps or volts / (supply.load_ohms or 1.0)
    return volts, amps, volts


def _result(supply: Supply, march: March, passages: list[Passage], trace: list[Point], depth: int) -> Result:
    seconds = march.span_s / (1 << depth)
    found = measure(trace, seconds, march.span_s)
    anodes = 2 if march.full_wave else 1
    first = passages[: max(1, math.ceil(INRUSH_S / march.span_s))]
    return Result(
        reservoir_mean_v=found.reservoir_mean_v,
        reservoir_ripple_pp_v=found.reservoir_max_v - found.reservoir_min_v,
        bplus_mean_v=found.bplus_mean_v,
        bplus_ripple_pp_v=found.bplus_pp_v,
        rectifier_peak_a=found.peak_a,
        rectifier_rms_a=math.sqrt(found.mean_square / anodes),
        rectifier_mean_a=found.mean_a / anodes,
        inrush_peak_a=max(found.peak_a, *(one.peak_a for one in first)),
        reservoir_startup_max_v=max(found.reservoir_max_v, *(one.reservoir_max_v for one in passages)),
        peak_no_load_v=supply.peak_no_load_v,
        load_mean_a=found.mean_a,
        waveform=_waveform(march, trace, seconds),
        startup=_startup(march, passages),
    )


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
