"""From a circuit to its figures: the start is marched through, the steady state solved for, one period of it measured."""

import math

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
_START_STEPS, _STEADY_STEPS = 1200, 2600
"""Steps after which no further cycle is begun: what keeps odd circuits within the time of ordinary ones."""
_TRACE_LEAP = 6


def compute(supply: Supply) -> Result:
    """The steady state and the start of a supply. Pure; a few milliseconds; every Supply has an answer, and it is finite."""
    march = March(supply)
    passages = _start(march, _spans(supply, march))
    last = passages[-1] if passages[-1].conducting else _fed(supply, march)
    depth = _depth(march, last, _STEADY_PULSE)
    if march.span_s / (1 << depth) > march.settling_s:
        depth = min(FINEST, depth + 1)
    state = steady_state(march, last.state, depth, _scale(supply, passages), _STEADY_STEPS)
    trace: list[Point] = [(0, state[0], state[2], march.standing_amps(state[0]))]
    march.span(state, depth, trace, _TRACE_LEAP)
    return _result(supply, march, passages, trace, depth)


def _spans(supply: Supply, march: March) -> int:
    """Spans to march from the start: past the swing of choke and smoothing, where the reservoir can stand highest."""
    swing_s = 2 * math.pi * math.sqrt(supply.choke_h * supply.smoothing_uf * 1e-6)
    least, most = _CYCLES
    cycles = min(most, max(least, math.ceil(swing_s * supply.frequency_hz) + 2))
    return cycles * 2 if march.full_wave else cycles


def _start(march: March, spans: int) -> list[Passage]:
    coarse = max(march.least_depth, _COARSE_DEPTH - march.full_wave)
    passages = [march.span((0.0, 0.0, 0.0), coarse + _FIRST_FINER)]
    depth, steps = coarse, passages[0].conducting
    while len(passages) < spans and steps < _START_STEPS:
        passages.append(march.span(passages[-1].state, depth))
        steps += passages[-1].conducting
        depth = _depth(march, passages[-1], _START_PULSE)
    return passages


def _fed(supply: Supply, march: March) -> Passage:
    """A span that conducts, where a light load leaves the rectifier off for long after the start's swing: all but charged."""
    volts = 0.98 * march.crest_v
    amps = supply.load_amps or volts / (supply.load_ohms or 1.0)
    return march.span((volts, amps, volts - amps * supply.choke_ohms), _COARSE_DEPTH)


def _depth(march: March, last: Passage, pulse: int) -> int:
    """As deep as gives the rectifier's pulse so many steps, and no deeper; as before where there was none."""
    finer = math.ceil(math.log2(pulse / last.conducting)) if last.conducting else 0
    return min(FINEST, max(march.least_depth, last.depth + finer))


def _scale(supply: Supply, passages: list[Passage]) -> State:
    """The size of each part of the state; the choke's amps are those of its ringing with the reservoir, or the load's."""
    volts = max(one.reservoir_max_v for one in passages)
    amps = supply.load_amps or volts / (supply.load_ohms or 1.0)
    if supply.choke_h:
        amps = max(amps, volts * math.sqrt(supply.reservoir_uf * 1e-6 / supply.choke_h))
    return volts, amps, volts


def _result(supply: Supply, march: March, passages: list[Passage], trace: list[Point], depth: int) -> Result:
    seconds = march.span_s / (1 << depth)
    found = measure(trace, seconds, march.span_s)
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
        waveform=_waveform(march, trace, seconds),
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
