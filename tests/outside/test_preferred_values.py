"""Preferred values against IEC 60063, as tabled in tests/outside/data/iec60063_values.csv and in the PyPI package eseries."""

from decimal import Decimal

import eseries
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.components.preferred import figures, nearest, series_names, tolerance_percent
from tests.outside.facts import agree, facts


def test_every_tabled_value_stands_at_its_place_in_its_series():
    for row in facts("iec60063_values.csv"):
        value = figures(row["series"])[int(row["index"])]
        scale = 10 if int(row["series"][1:]) <= 24 else 100
        agree(row, value * scale == Decimal(row["value"]), f"{row['series']}[{row['index']}] is {value}")


@pytest.mark.parametrize("name", series_names())
def test_each_series_is_the_one_of_the_eseries_package(name):
    # source: PyPI eseries 1.2.1, series()
    theirs = eseries.series(eseries.ESeries[name])
    scale = theirs[0]
    assert [float(value) for value in figures(name)] == pytest.approx([value / scale for value in theirs])


@given(st.sampled_from(series_names()), st.decimals("1e-4", "1e9", allow_nan=False, places=4))
def test_neighbours_are_those_of_the_eseries_package(name, value):
    # source: PyPI eseries 1.2.1, find_less_than_or_equal() and find_greater_than_or_equal()
    found = nearest(name, value)
    key = eseries.ESeries[name]
    assert float(found.below) == pytest.approx(eseries.find_less_than_or_equal(key, float(value)))
    assert float(found.above) == pytest.approx(eseries.find_greater_than_or_equal(key, float(value)))
    assert found.nearest in (found.below, found.above)


@pytest.mark.parametrize("row", facts("iec60063_tolerances.csv"), ids=lambda row: row["series"])
def test_a_series_is_made_for_the_tolerance_of_the_standard(row):
    percent = tolerance_percent(row["series"])
    agree(row, percent == (Decimal(row["percent"]) if row["percent"] else None), f"{row['series']} is for ±{percent} %")


@pytest.mark.parametrize("name", [name for name in series_names() if name != "E3"])
def test_a_series_is_made_for_the_tolerance_of_the_eseries_package(name):
    # source: PyPI eseries 1.2.1, tolerance(); its 40 % for E3 is no figure of the standard
    assert float(tolerance_percent(name)) == pytest.approx(eseries.tolerance(eseries.ESeries[name]) * 100)
