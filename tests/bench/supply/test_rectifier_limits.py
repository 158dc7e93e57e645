"""What a circuit asks of its rectifier, against the type's figures."""

import pytest

from jobs.bench.supply import Limit, Supply, ThreeHalves, compute, limits
from tests.bench.supply.circuits import midget_set, table_set


def found(supply: Supply) -> dict[str, Limit]:
    return {one.code: one for one in limits(supply, compute(supply))}


def test_too_large_a_reservoir_is_named_with_its_source():
    limit = found(table_set(rectifier_type="5Y3-GT", reservoir_uf=40))["max_reservoir_uf"]
    assert limit.exceeded
    assert not limit.from_memory
    assert limit.sentence == "First capacitor 40 µF: more than the 5Y3-GT's largest, 20 µF."
    assert limit.source.startswith("tubeofile.com")


def test_a_remembered_figure_asks_to_be_looked_up():
    limit = found(midget_set(rectifier_type="35W4", reservoir_uf=100))["max_reservoir_uf"]
    assert limit.exceeded
    assert limit.from_memory
    assert limit.sentence.endswith("That figure is from memory: look it up in a data sheet.")


def test_what_the_type_bears_is_not_exceeded():
    assert not any(one.exceeded for one in found(midget_set(rectifier_type="35W4", rectifier=ThreeHalves(0.0026))).values())


def test_too_little_resistance_before_the_anode_is_below_a_least_figure():
    limit = found(table_set(rectifier_type="6X4", volts_rms=325))["min_supply_ohms"]
    assert (limit.value, limit.limit, limit.unit, limit.exceeded) == (150, 525, "Ω", True)
    assert limit.sentence == "Supply impedance per plate 150 Ω: less than the 6X4's least, 525 Ω."


@pytest.mark.parametrize(("volts", "limit"), [(250, 120), (300, 100), (400, 75), (500, 60)])
def test_the_output_that_a_type_bears_falls_with_the_voltage(volts, limit):
    assert found(table_set(rectifier_type="AZ1", volts_rms=volts))["max_dc_ma"].limit == limit


@pytest.mark.parametrize(("volts", "ohms"), [(290, 75), (300, 75), (310, 100), (600, 200)])
def test_between_two_voltages_the_higher_ones_resistance_holds(volts, ohms):
    assert found(table_set(rectifier_type="GZ34", volts_rms=volts))["min_supply_ohms"].limit == ohms


def test_the_inverse_voltage_is_twice_the_ac_peak():
    limit = found(table_set(rectifier_type="6X4", volts_rms=500))["max_peak_inverse_volts"]
    assert limit.value == pytest.approx(1414.2, abs=0.1)
    assert limit.exceeded


def test_switching_on_hot_is_held_against_the_transient_figure():
    assert found(table_set(rectifier_type="6X4", source_ohms=10, reservoir_uf=100))["max_transient_plate_amps"].exceeded


@pytest.mark.parametrize("type_name", ["", "silicon", "1N4007", "6V6", "\0" * 500])
def test_no_valve_or_none_on_file_has_no_limits(type_name):
    assert found(table_set(rectifier_type=type_name)) == {}
