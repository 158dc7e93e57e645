"""Preferred values: neighbours, the nearest by ratio, and the values that have none."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.components.preferred import PreferredError, figures, nearest, series_for, series_names, tolerance_percent

D = Decimal
SIZES = st.decimals(min_value=D(1), max_value=D(10), allow_nan=False, places=9).flatmap(
    lambda figure: st.integers(-30, 28).map(figure.scaleb)
)


@pytest.mark.parametrize(
    ("series", "value", "code"),
    [
        *(("E7", "47", "unknown"), ("", "47", "unknown"), ("e12" * 99, "47", "unknown")),
        *(("E12", one, "out_of_range") for one in ("0", "-1", "NaN", "sNaN", "Infinity", "1e400", "1e-400", "1e999999")),
    ],
)
def test_a_series_or_value_without_neighbours_is_refused(series, value, code):
    with pytest.raises(PreferredError) as refused:
        nearest(series, D(value))
    assert refused.value.code == code
    assert 0 < len(refused.value.message) < 200


def test_nearest_is_by_ratio_and_says_how_far_it_lies():
    found = nearest("E12", D("0.05"))
    assert (found.below, found.nearest, found.above) == (D("0.047"), D("0.047"), D("0.056"))
    assert found.deviation_percent == -6
    # between 1 and 2.2 the ratios are equal at 1.483, the differences at 1.6
    assert nearest("E3", D("1.48")).nearest == 1
    assert nearest("E3", D("1.49")).nearest == D("2.2")


@given(st.sampled_from(series_names()), SIZES)
def test_neighbours_enclose_the_value_whatever_its_size(series, value):
    found = nearest(series, value)
    assert found.below <= value <= found.above
    assert (found.below == found.above) == (value in (found.below, found.above))
    other = found.above if found.nearest == found.below else found.below
    assert max(found.nearest / value, value / found.nearest) <= max(other / value, value / other)


@given(st.sampled_from(series_names()), st.integers(0, 191), st.integers(-15, 15))
def test_a_preferred_value_is_its_own_neighbour(series, at, power):
    decade = figures(series)
    value = decade[at % len(decade)].scaleb(power)
    found = nearest(series, value)
    assert (found.below, found.nearest, found.above, found.deviation_percent) == (value, value, value, 0)


def test_a_value_a_hair_off_is_not_taken_for_the_preferred_one():
    found = nearest("E6", D("4.7" + 38 * "0" + "1"))
    assert (found.below, found.above) == (D("4.7"), D("6.8"))


@pytest.mark.parametrize(
    ("percent", "series"), [("20", "E6"), ("10", "E12"), ("7", "E24"), ("5", "E24"), ("1", "E96"), ("0.1", "E192"), ("60", "E6")]
)
def test_the_series_for_a_tolerance_is_the_coarsest_made_as_tight(percent, series):
    assert series_for(D(percent)) == series


def test_a_tolerance_is_asked_for_only_of_a_series_and_a_series_only_of_a_tolerance():
    assert tolerance_percent("E3") is None
    with pytest.raises(PreferredError, match="is not a series"):
        tolerance_percent("E5")
    with pytest.raises(PreferredError, match="above zero"):
        series_for(D("NaN"))
