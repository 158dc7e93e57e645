"""From a value to its colours and back: what is marked reads the same again, what can't be marked names the nearest that can."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.components.colours.faults import ColourError
from inventory.components.colours.reading import read_colours, read_marking
from inventory.components.colours.writing import colours_for

D = Decimal
RATED = {"1": "brown", "2": "red", "5": "gold", "10": "silver"}


def refused(*arguments: object, **options: object) -> ColourError:
    with pytest.raises(ColourError) as caught:
        colours_for(*arguments, **options)
    return caught.value


@pytest.mark.parametrize(
    ("value", "tolerance", "colours"),
    [
        (4700, None, "yellow violet red"),
        (4700, 20, "yellow violet red"),
        (4700, 5, "yellow violet red gold"),
        (4750, 1, "yellow violet green brown brown"),
        (2.7, (D(-5), D(5)), "red violet gold gold"),
        (0.33, 10, "orange orange silver silver"),
        (1_000_000, 10, "brown black green silver"),
    ],
)
def test_a_value_becomes_the_fewest_bands(value, tolerance, colours):
    assert colours_for(value, "resistance", tolerance) == tuple(colours.split())


def test_bands_can_be_asked_for_by_number():
    assert colours_for(4700, "resistance", 1, bands=5) == ("yellow", "violet", "black", "brown", "brown")
    assert colours_for(10_000, "resistance", 1, bands=6, temperature_ppm=50)[-1] == "red"


def test_the_older_schemes_are_written_too():
    assert colours_for(25_000, "resistance", scheme="body_end_dot") == ("red", "green", "orange", "none")
    assert colours_for(25_000, "resistance", 5, "body_end_dot") == ("red", "green", "orange", "gold")
    assert colours_for(2.5e-11, "capacitance", scheme="mica_3_dot") == ("red", "green", "black")
    assert colours_for(1.05e-10, "capacitance", 10, "mica_6_dot") == ("brown", "black", "green", "none", "silver", "black")
    paper = colours_for(1e-8, "capacitance", 10, "moulded_paper", volts=1500)
    assert paper == ("brown", "black", "orange", "silver", "brown", "green")


@pytest.mark.parametrize(
    ("arguments", "code", "message"),
    [
        (
            (4750, "resistance", 1, "iec60062", 4),
            "unreadable",
            "4.75 kΩ needs more than two figures. The nearest that can be marked is 4.8 kΩ (yellow, grey, red, brown).",
        ),
        (
            (1.05e-10, "capacitance", None, "mica_3_dot"),
            "unreadable",
            "105 pF needs more than two figures. The nearest that can be marked is 100 pF (brown, black, brown).",
        ),
        (
            (4700, "resistance", 7),
            "unreadable",
            "A tolerance of ±7 % has no colour here. "
            "Use ±0.01 %, ±0.02 %, ±0.05 %, ±0.1 %, ±0.25 %, ±0.5 %, ±1 %, ±2 %, ±5 %, ±10 %, ±20 %.",
        ),
        ((0, "resistance"), "out_of_range", "Bands round a resistor mark values from 0.01 Ω to 1000 GΩ."),
        ((-5, "resistance"), "out_of_range", "Bands round a resistor mark values from 0.01 Ω to 1000 GΩ."),
        ((math.nan, "resistance"), "out_of_range", "The value is no number that a part can have."),
        ((10**100_000, "resistance"), "out_of_range", "The value is no number that a part can have."),
        ((47, "capacitance"), "unreadable", "Bands round a resistor mark a resistance, not a capacitance."),
        (
            (47, "resistance", (D(-20), D(80))),
            "unreadable",
            "Colours mark a tolerance that is the same both ways, such as ±10 %.",
        ),
        ((47, "resistance", None, "iec60062", 9), "unreadable", "Bands round a resistor have 3 or 4 or 5 or 6 places."),
        (
            (47, "resistance", None, "stripes"),
            "unknown",
            "“stripes” is no marking by colour. Use iec60062, body_end_dot, mica_3_dot, mica_5_dot, mica_6_dot, moulded_paper.",
        ),
    ],
)
def test_what_cannot_be_marked_says_what_can(arguments, code, message):
    fault = refused(*arguments)
    assert (fault.code, fault.message) == (code, message)


@given(st.integers(10, 99), st.integers(-2, 9), st.sampled_from(sorted(RATED)))
def test_every_two_figure_value_reads_back(figures, zeros, percent):
    value = D(figures).scaleb(zeros)
    spec = read_colours("iec60062", colours_for(value, "resistance", D(percent)))
    assert (spec.value, spec.tolerance_percent) == (value, (-D(percent), D(percent)))


@given(st.integers(100, 999), st.integers(-3, 9), st.sampled_from(sorted(RATED)))
def test_every_three_figure_value_reads_back(figures, zeros, percent):
    value = D(figures).scaleb(zeros)
    colours = colours_for(value, "resistance", D(percent), bands=5)
    spec = read_marking("iec60062", colours).spec
    assert (spec.value, spec.tolerance_percent, len(colours)) == (value, (-D(percent), D(percent)), 5)


@given(st.integers(1, 99), st.integers(-2, 4), st.sampled_from(["body_end_dot", "mica_3_dot"]))
def test_the_older_schemes_read_back(figures, zeros, scheme):
    kind, exponent = ("resistance", 0) if scheme == "body_end_dot" else ("capacitance", -12)
    value = D(figures).scaleb(zeros + exponent)
    assert read_colours(scheme, colours_for(value, kind, scheme=scheme)).value == value


@given(
    st.floats() | st.integers() | st.decimals(),
    st.none() | st.floats() | st.decimals() | st.integers(),
    st.none() | st.integers(),
)
def test_any_number_gives_colours_or_a_refusal(value, tolerance, bands):
    colours = marked_or_refused(value, tolerance, bands)
    if isinstance(colours, ColourError):
        assert colours.message.endswith(".")
    else:
        assert float(read_colours("iec60062", colours).value) == pytest.approx(float(value), rel=1e-9)


def marked_or_refused(value: D, tolerance: D | None, bands: int | None) -> tuple[str, ...] | ColourError:
    try:
        return colours_for(value, "resistance", tolerance, bands=bands)
    except ColourError as fault:
        return fault
