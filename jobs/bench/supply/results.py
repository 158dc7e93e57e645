"""What a computed supply is: figures in volts and amps, and the curves to draw."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Waveform:
    """Two periods of the line in steady state, from the AC voltage's upward zero crossing. Equally long tuples."""

    times_s: tuple[float, ...]
    reservoir_v: tuple[float, ...]
    bplus_v: tuple[float, ...]
    rectifier_a: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class StartUp:
    """The first cycles after switching on with hot valves and empty capacitors: one point a cycle, the first at 0 s."""

    times_s: tuple[float, ...]
    reservoir_max_v: tuple[float, ...]
    bplus_v: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Result:
    """Steady state of a supply, and its start.

    Ripples are peak to peak. Rectifier figures are of one anode; the mean is over the whole period. `inrush_peak_a` is the
    largest current, in the first 0.2 s, of the anode that conducts first when switched on hot at the zero crossing with empty
    capacitors, `reservoir_startup_max_v` the reservoir's largest voltage from then on. `peak_no_load_v` is what all
    capacitors must stand while cold valves draw nothing.
    """

    reservoir_mean_v: float
    reservoir_ripple_pp_v: float
    bplus_mean_v: float
    bplus_ripple_pp_v: float
    rectifier_peak_a: float
    rectifier_rms_a: float
    rectifier_mean_a: float
    inrush_peak_a: float
    reservoir_startup_max_v: float
    peak_no_load_v: float
    load_mean_a: float
    waveform: Waveform
    startup: StartUp
