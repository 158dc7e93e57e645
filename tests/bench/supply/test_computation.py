"""Facts that hold of every supply, whatever its figures."""

import dataclasses
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from jobs.bench.supply import RANGES, Linear, Result, Supply, SupplyError, ThreeHalves, compute
from tests.bench.supply.circuits import midget_set, table_set

VALVE = ThreeHalves(0.0004)
CIRCUITS = [
    table_set(),
    table_set(rectifier=VALVE),
    table_set(load_amps=None, load_ohms=4500),
    midget_set(),
    midget_set(rectifier=VALVE),
    midget_set(load_amps=None, load_ohms=2000, choke_h=8),
]


def figures(result: Result) -> dict[str, float]:
    return {field.name: value for field in dataclasses.fields(result) if isinstance(value := getattr(result, field.name), float)}


@pytest.mark.parametrize("supply", CIRCUITS)
def test_what_the_rectifier_gives_the_load_takes(supply: Supply):
    result = compute(supply)
    anodes = 2 if supply.topology == "full-wave" else 1
    load = supply.load_amps or result.bplus_mean_v / (supply.load_ohms or 1)
    assert anodes * result.rectifier_mean_a == pytest.approx(load, rel=1e-3)
    assert result.load_mean_a == pytest.approx(load, rel=1e-3)


@pytest.mark.parametrize("supply", CIRCUITS)
def test_the_choke_or_resistor_drops_the_load_current_times_its_ohms(supply: Supply):
    result = compute(supply)
    drop = result.reservoir_mean_v - result.bplus_mean_v
    assert drop == pytest.approx(result.load_mean_a * supply.choke_ohms, rel=1e-3)


@pytest.mark.parametrize("supply", CIRCUITS)
def test_a_larger_reservoir_leaves_less_ripple_and_takes_harder_pulses(supply: Supply):
    before, after = compute(supply), compute(dataclasses.replace(supply, reservoir_uf=2 * supply.reservoir_uf))
    assert after.reservoir_ripple_pp_v < 0.6 * before.reservoir_ripple_pp_v
    assert after.bplus_ripple_pp_v < 0.6 * before.bplus_ripple_pp_v
    assert after.inrush_peak_a > before.inrush_peak_a
    assert after.bplus_mean_v == pytest.approx(before.bplus_mean_v, rel=0.05)


@pytest.mark.parametrize("supply", CIRCUITS)
def test_more_resistance_before_the_rectifier_spares_it(supply: Supply):
    before, after = compute(supply), compute(dataclasses.replace(supply, source_ohms=2 * supply.source_ohms))
    assert after.rectifier_peak_a < before.rectifier_peak_a
    assert after.inrush_peak_a < before.inrush_peak_a
    assert after.bplus_mean_v < before.bplus_mean_v


def test_with_a_linear_rectifier_twice_the_volts_and_amps_is_twice_everything():
    # a resistor is as linear as the rest; a constant current isn't, since it fades at a fixed voltage while starting
    supply = table_set(load_amps=None, load_ohms=4500)
    double = compute(dataclasses.replace(supply, volts_rms=2 * supply.volts_rms))
    assert figures(double) == pytest.approx({name: 2 * value for name, value in figures(compute(supply)).items()}, rel=1e-6)


def test_with_capacitors_and_choke_scaled_inversely_the_frequency_makes_no_difference():
    slow = table_set(load_amps=None, load_ohms=4500)
    fast = dataclasses.replace(slow, frequency_hz=100, reservoir_uf=8, choke_h=5, smoothing_uf=8)
    steady = ("reservoir_mean_v", "reservoir_ripple_pp_v", "bplus_ripple_pp_v", "rectifier_peak_a", "rectifier_rms_a")
    one, other = figures(compute(slow)), figures(compute(fast))
    assert [one[name] for name in steady] == pytest.approx([other[name] for name in steady], rel=1e-3)


def test_silicon_in_place_of_a_valve_raises_the_voltage():
    assert compute(table_set(rectifier=Linear(1))).bplus_mean_v > compute(table_set(rectifier=VALVE)).bplus_mean_v + 20


@pytest.mark.parametrize("supply", CIRCUITS)
def test_voltages_stay_below_the_ac_peak_and_the_startup_is_no_lower_than_what_follows(supply: Supply):
    result = compute(supply)
    assert result.bplus_mean_v < result.reservoir_mean_v < result.reservoir_startup_max_v < result.peak_no_load_v
    assert result.peak_no_load_v == pytest.approx(math.sqrt(2) * supply.volts_rms)
    assert result.reservoir_startup_max_v >= max(result.waveform.reservoir_v) - 1e-6


@pytest.mark.parametrize("supply", CIRCUITS)
def test_the_waveform_is_two_periods_that_repeat(supply: Supply):
    wave = compute(supply).waveform
    assert len(wave.times_s) == len(wave.reservoir_v) == len(wave.bplus_v) == len(wave.rectifier_a) < 1000
    assert list(wave.times_s) == sorted(set(wave.times_s))
    assert wave.times_s[-1] == pytest.approx(2 / supply.frequency_hz)
    assert wave.reservoir_v[-1] == pytest.approx(wave.reservoir_v[0], rel=1e-6)
    assert wave.bplus_v[-1] == pytest.approx(wave.bplus_v[0], rel=1e-6)


def test_the_start_begins_empty():
    start = compute(table_set()).startup
    assert (start.times_s[0], start.reservoir_max_v[0], start.bplus_v[0]) == (0, 0, 0)
    assert len(start.times_s) == len(start.reservoir_max_v) == len(start.bplus_v)


def test_more_than_the_supply_can_give_pulls_the_b_plus_down_to_where_the_load_fades():
    overloaded = compute(midget_set(load_amps=2))
    assert 0 <= overloaded.bplus_mean_v < 10


def spread(name: str) -> some.SearchStrategy[float]:
    """Values over all of a range, as many small as large."""
    bounds = RANGES[name]
    values = some.floats(math.log(bounds.least), math.log(bounds.most)).map(
        lambda one: min(max(math.exp(one), bounds.least), bounds.most)
    )
    return some.one_of(some.just(0.0), values) if bounds.may_be_zero else values


@settings(max_examples=150, deadline=None)
@given(data=some.data())
def test_whatever_is_accepted_has_finite_figures(data: some.DataObject):
    numbers = ("volts_rms", "frequency_hz", "source_ohms", "reservoir_uf", "choke_h", "choke_ohms", "smoothing_uf")
    values = {name: data.draw(spread(name), label=name) for name in numbers}
    load = data.draw(some.sampled_from(["load_amps", "load_ohms"]))
    law = data.draw(some.one_of(some.floats(0, 1e5).map(Linear), some.floats(-7, 0).map(lambda one: ThreeHalves(10**one))))
    topology = data.draw(some.sampled_from(["half-wave", "full-wave"]))
    try:
        supply = Supply(topology=topology, rectifier=law, **values, **{load: data.draw(spread(load), label=load)})
    except SupplyError:
        return
    result = compute(supply)
    assert all(map(math.isfinite, figures(result).values()))
    assert all(map(math.isfinite, (*result.waveform.reservoir_v, *result.waveform.bplus_v, *result.startup.bplus_v)))
    assert result.rectifier_peak_a >= 0
    assert result.inrush_peak_a >= 0
