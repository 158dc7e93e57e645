"""The same supply with other parts in it: what changes, in figures and in a sentence."""

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.bench.supply import SupplyError, compute, rectifier_law
from jobs.bench.supply.circuit import Supply
from jobs.bench.supply_compare import Figures, Parts, amount, case_of, limit_lines, lines, out_of_range
from jobs.bench.supply_words import told

SUPER = Figures("full-wave", 300.0, 50.0, 0.07)
CALLED = Parts("5Y3-GT", 120.0, 20.0, 15.0, 1500.0, 15.0, 450.0, 450.0)


def test_every_figure_is_the_computations_own():
    case = case_of(SUPER, CALLED)
    asked = Supply("full-wave", 300, 50, 120, rectifier_law("5Y3-GT"), 20, 15, 1500, 15, load_amps=0.07, rectifier_type="5Y3-GT")
    assert case.result == compute(asked)
    shown = {line.what: line.cells[0].text for line in lines([case])}
    assert shown["B+, mean"] == amount(case.result.bplus_mean_v, "voltage")
    assert shown["First pulse when switched on hot"] == amount(case.result.inrush_peak_a, "current")


def test_a_larger_reservoir_is_told_in_one_sentence():
    before, after = case_of(SUPER, CALLED), case_of(SUPER, replace(CALLED, reservoir_uf=47.0))
    sentence = told(before, after)
    assert sentence.startswith("With 47 µF instead of 20 µF as reservoir, B+ ")
    assert "its hum falls to 42 %, and the 5Y3-GT is asked for 1.13 A when switched on hot." in sentence
    # source: 20 µF is the 5Y3's largest first capacitor, tubeofile.com/api/tubes/5Y3
    assert sentence.endswith("First capacitor 47 µF: more than the 5Y3-GT's largest, 20 µF.")
    assert [one.level for one in after.troubles] == ["no"]


def test_nothing_changed_says_how_it_stands():
    case = case_of(SUPER, CALLED)
    assert told(case, case) == (
        f"B+ comes to {amount(case.result.bplus_mean_v, 'voltage')} with {amount(case.result.bplus_ripple_pp_v, 'voltage')} "
        f"of hum peak to peak. The 5Y3-GT is asked for {amount(case.result.inrush_peak_a, 'current')} when switched on hot. "
        "Nothing is beyond what is on file."
    )


def test_several_changes_are_listed():
    other = replace(
        CALLED, reservoir_uf=10.0, smoothing_uf=47.0, rectifier="silicon", choke_h=0.0, choke_ohms=1000.0, source_ohms=150
    )
    assert told(case_of(SUPER, CALLED), case_of(SUPER, other)).startswith(
        "With 10 µF instead of 20 µF as reservoir, 47 µF instead of 15 µF as smoothing, silicon instead of 5Y3-GT as rectifier, "
        "1 kΩ instead of 15 H 1.5 kΩ between the capacitors and 150 Ω instead of 120 Ω before each anode, B+ rises "
    )


def test_the_peak_before_the_valves_draw_current_is_held_against_every_rating():
    low = replace(CALLED, reservoir_rated_v=400.0, smoothing_rated_v=None)
    case = case_of(SUPER, low)
    shown = {line.what: line.cells[0] for line in lines([case])}
    # source: the crest of a sine is √2 times its rms value
    assert math.isclose(case.result.peak_no_load_v, math.sqrt(2) * 300)
    assert shown["Before the valves draw current"].text == "424 V"
    assert (shown["Reservoir is rated"].mark, shown["Reservoir is rated"].word) == ("warn", "scant")
    assert shown["Smoothing is rated"].text == "not known"
    assert "A rectifier that warms up no faster than the other valves spares it" in case.troubles[0].sentence


@pytest.mark.parametrize(("rectifier", "rated"), [("silicon", 400.0), ("5Y3-GT", 250.0)])
def test_too_low_is_what_silicon_or_the_playing_set_reaches(rectifier, rated):
    case = case_of(SUPER, replace(CALLED, rectifier=rectifier, reservoir_rated_v=rated))
    assert [one.level for one in case.troubles] == ["no"]
    assert case.troubles[0].sentence.endswith("424 V stand there until the valves draw current.")


def test_limits_stand_with_their_source_and_a_remembered_one_only_cautions():
    case = case_of(Figures("half-wave", 230, 50, 0.045), Parts("UY41", 100, 100, 0, 1000, 50, 450, 450))
    found = {line.what: line for line in limit_lines([None, case])}
    assert found["First capacitor"].cells[0].text == "–"
    assert found["First capacitor"].cells[1].mark == "warn"
    assert "from memory" in found["First capacitor"].source
    assert {one.level for one in case.troubles} == {"warn"}
    assert limit_lines([None]) == []


@pytest.mark.parametrize(
    ("parts", "code", "says"),
    [
        (replace(CALLED, rectifier="XYZ1"), "unknown", "No voltage drop is on file for “XYZ1”. Write a type such as 5Y3-GT"),
        (replace(CALLED, rectifier=""), "unknown", "No voltage drop is on file for a rectifier without a type."),
        (replace(CALLED, smoothing_uf=0.0), "out_of_range", "Behind the choke or resistor a smoothing capacitor is wanted."),
        (replace(CALLED, reservoir_uf=1e6), "out_of_range", "Reservoir 1000000 µF is beyond what is computed. Accepted: 0.5 to"),
        (replace(CALLED, source_ohms=math.nan), "out_of_range", "Source resistance nan Ω is beyond what is computed."),
    ],
)
def test_what_can_not_be_computed_says_what_would_be(parts, code, says):
    with pytest.raises(SupplyError) as refused:
        case_of(SUPER, parts)
    assert refused.value.code == code
    assert refused.value.message.startswith(says)


def test_a_range_is_said_in_the_units_of_its_field():
    assert out_of_range("volts_rms", 250.0) == ""
    assert out_of_range("volts_rms", 9000) == "AC voltage 9000 V is beyond what is computed. Accepted: 1 to 5000 V rms per half."


@given(st.builds(Parts, st.just("GZ34"), *(st.floats(0, 1e5) for _ in range(5)), st.none() | st.floats(0, 1e4), st.none()))
@settings(max_examples=40, deadline=None)
def test_any_parts_give_a_sentence_or_a_refusal(parts):
    try:
        case = case_of(SUPER, parts)
    except SupplyError as refused:
        if not refused.message.endswith("."):
            raise
        return
    assert told(case_of(SUPER, CALLED), case)
    assert all(cell.text for line in (*lines([case]), *limit_lines([case])) for cell in line.cells)


def test_three_figures_and_no_more():
    assert amount(255.7321, "voltage") == "256 V"
    assert amount(0.012345, "voltage") == "12.3 mV"
    assert amount(1.1349, "current") == "1.13 A"
    assert amount(1e-9, "voltage") == "less than 1 mV"
    assert amount(float(Decimal("1500")), "resistance") == "1.5 kΩ"
