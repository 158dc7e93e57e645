"""What a circuit may be, and what is said of one that it may not."""

import math
from decimal import Decimal

import pytest

from jobs.bench.supply import Linear, SupplyError, ThreeHalves, compute
from tests.bench.supply.circuits import midget_set, table_set


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("volts_rms", 0),
        ("volts_rms", -250),
        ("volts_rms", 10**400),
        ("frequency_hz", 1e6),
        ("frequency_hz", math.nan),
        ("source_ohms", math.inf),
        ("source_ohms", -1),
        ("reservoir_uf", 0),
        ("reservoir_uf", 1e6),
        ("choke_h", -10),
        ("choke_ohms", 1e9),
        ("smoothing_uf", 0),
        ("smoothing_uf", "16"),
        ("load_amps", 0),
        ("load_amps", -0.06),
        ("load_amps", True),
        ("rectifier", Linear(-1)),
        ("rectifier", Linear(math.nan)),
        ("rectifier", ThreeHalves(0)),
        ("rectifier", ThreeHalves(1e9)),
    ],
)
def test_an_absurd_circuit_is_out_of_range_and_the_field_is_named(field, value):
    with pytest.raises(SupplyError) as refused:
        table_set(**{field: value})
    assert refused.value.code == "out_of_range"
    assert refused.value.message.startswith(field)
    assert "Accepted: " in refused.value.message or "behind a choke" in refused.value.message


def test_the_message_names_the_value_and_what_is_accepted():
    with pytest.raises(
        SupplyError, match=r"^reservoir_uf is 1e\+06: reservoir outside what is computed. Accepted: 0.5 to 10000 µF.$"
    ):
        table_set(reservoir_uf=1_000_000)


@pytest.mark.parametrize("load", [{"load_amps": None}, {"load_ohms": 4000}, {"load_amps": None, "load_ohms": 0}])
def test_the_load_is_given_once_and_not_as_nothing(load):
    with pytest.raises(SupplyError) as refused:
        table_set(**load)
    assert refused.value.code == "out_of_range"


@pytest.mark.parametrize("unknown", [{"topology": "bridge of sighs"}, {"topology": 3}, {"rectifier": "6X4"}])
def test_a_topology_or_law_that_is_not_on_file_is_unknown(unknown):
    with pytest.raises(SupplyError) as refused:
        table_set(**unknown)
    assert refused.value.code == "unknown"


def test_no_resistance_at_all_is_out_of_range():
    with pytest.raises(SupplyError, match="^rectifier is 0: resistance of source and rectifier together"):
        table_set(source_ohms=0, rectifier=Linear(0))


def test_exact_numbers_are_taken_too():
    exact = midget_set(volts_rms=Decimal(117), reservoir_uf=Decimal("40"), rectifier=Linear(Decimal(130)))
    assert exact == midget_set()
    assert compute(exact) == compute(midget_set())


def test_with_nothing_between_them_two_capacitors_are_one():
    one = compute(midget_set(choke_ohms=0, reservoir_uf=60, smoothing_uf=0))
    two = compute(midget_set(choke_ohms=0, reservoir_uf=20, smoothing_uf=40))
    assert midget_set(choke_ohms=0).first_capacitor_uf == 80
    assert one.bplus_mean_v == one.reservoir_mean_v == pytest.approx(two.reservoir_mean_v, rel=1e-9)
