"""Rectifier valves' figures against published data sheets and pages about them, each row with its source."""

from decimal import Decimal

import pytest

from inventory.components.rectifiers import rectifier_figures, rectifier_types
from inventory.components.valves import rectifier_figure
from tests.outside.facts import agree, facts


@pytest.mark.parametrize("row", facts("rectifier_figures.csv"), ids=lambda row: f"{row['type']}-{row['quantity']}")
def test_a_figure_on_file_is_the_published_one(row):
    figure = rectifier_figure(row["type"], row["quantity"])
    agree(row, figure is not None and figure.value == Decimal(row["value"]), f"{row['quantity']} of {row['type']} is {figure}")


def test_a_remembered_row_is_never_passed_off_as_a_read_one():
    for row in facts("rectifier_figures.csv"):
        figure = rectifier_figure(row["type"], row["quantity"])
        assert figure is not None
        if figure.source == row["source"]:
            assert figure.from_memory == (row["origin"] == "memory")


@pytest.mark.parametrize(
    ("type_name", "volts", "milliamps"), [("AZ1", 300, 100), ("AZ1", 400, 75), ("AZ1", 500, 60), ("AZ12", 400, 150)]
)
def test_the_product_of_voltage_and_current_bounds_the_output(type_name, volts, milliamps):
    # source: tubeofile.com AZ1, AZ12 (second-hand; the pages cite frank.pocnet.net 005/a/AZ1.pdf, 076/a/AZ12.pdf)
    assert rectifier_figures(type_name, volts)["max_dc_ma"].value == milliamps


@pytest.mark.parametrize(
    ("one", "other", "quantity"),
    [
        ("80", "5Y3-GT", "max_reservoir_uf"),
        ("AZ11", "AZ1", "max_dc_ma"),
        ("5Z3", "5U4-G", "max_reservoir_uf"),
        ("5X4-G", "5U4-G", "min_supply_ohms"),
    ],
)
def test_types_that_the_sheets_call_identical_share_their_read_figures(one, other, quantity):
    # source: tubeofile.com 5Y3 and 5Z3; backtoweb.info J. Roschy 2010
    shared = rectifier_figures(one, 300)[quantity]
    assert not shared.from_memory
    assert shared == rectifier_figures(other, 300)[quantity]


def test_about_twenty_five_types_are_on_file():
    assert len(rectifier_types()) >= 25
