"""Bench arithmetic and output stages against worked examples, each with its source in data/."""

from decimal import Decimal

import pytest

from jobs.bench import dissipation, handbook
from jobs.bench.output_stage import StageReadings, check_grid, check_stage
from tests.outside.facts import agree, facts

MODULES = {"dissipation": dissipation, "handbook": handbook}


@pytest.mark.parametrize("row", facts("bench_calculations.csv"), ids=lambda row: row["id"])
def test_a_handbook_sum_comes_to_its_published_figure(row):
    arguments = [Decimal(one) for one in row["arguments"].split()]
    computed = getattr(MODULES[row["module"]], row["function"])(*arguments)
    agree(row, computed == pytest.approx(Decimal(row["value"]), rel=Decimal("0.0002")), f"{computed} {row['unit']}")


def number(text: str) -> Decimal | None:
    return Decimal(text) if text else None


@pytest.mark.parametrize("row", facts("output_valves.csv"), ids=lambda row: row["id"])
def test_an_output_stage_is_judged_as_the_worked_example_judges_it(row):
    readings = StageReadings(
        Decimal(row["plate_volts"]),
        cathode_volts=number(row["cathode_volts"]),
        cathode_ohms=number(row["cathode_ohms"]),
        plate_amps=number(row["plate_amps"]),
        screen_fraction=number(row["screen_fraction"]),
    )
    found = check_stage(row["valve"], readings)
    near = Decimal("0.01") if row["origin"] == "memory" else Decimal("0.0001")
    agree(row, found.plate_watts == pytest.approx(Decimal(row["plate_watts"]), rel=near), f"{found.plate_watts} W")
    agree(row, found.currents.plate * 1000 == pytest.approx(Decimal(row["plate_ma"]), rel=near), f"{found.currents.plate} A")
    if found.currents.cathode is not None:
        milliamps = found.currents.cathode * 1000
        agree(row, milliamps == pytest.approx(Decimal(row["cathode_ma"]), rel=near), f"{milliamps} mA")
    agree(row, found.over_limit == (row["over_limit"] == "true"), f"over the limit: {found.over_limit}")
    limit = found.plate_limit and found.plate_limit.watts
    agree(row, limit == number(row["plate_limit"]), f"plate limit {limit} W")


def test_a_coupling_capacitor_is_replaced_at_a_tenth_of_the_bias():
    # source: konferencjaskd2024.pl 29_09_12_2400 (voltage on the grid resistor reaches 0.1 of the bias)
    assert check_grid(Decimal("0.73"), Decimal("7.3")).level == "no"
    assert check_grid(Decimal("0.7"), Decimal("7.3")).level == "warn"
