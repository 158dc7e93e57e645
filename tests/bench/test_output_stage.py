"""An output stage judged by its voltages: what is over, what points to which part, and what another B+ would do."""

from dataclasses import replace
from decimal import Decimal

import pytest

from jobs.bench.output_stage import StageReadings, after_bplus_change, check_grid, check_stage, output_valve
from jobs.bench.problems import BenchError

D = Decimal
EL84 = StageReadings(D(257), cathode_volts=D("7.3"), cathode_ohms=D(135), screen_volts=D(250))


def words(check, code):
    return next(reason.message for reason in check.reasons if reason.code == code)


def test_a_read_limit_condemns_and_a_remembered_one_only_cautions():
    assert (output_valve("EL84").plate_limit.only_remembered, output_valve("50L6-GT").plate_limit.only_remembered) == (
        False,
        True,
    )
    hot = StageReadings(D(300), cathode_volts=D(11), cathode_ohms=D(140))
    assert check_stage("EL84", hot).answer == "no"
    assert words(check_stage("EL84", hot), "plate_over") == "The plate gets rid of 20.37 W, above the 12 W that EL84 may: 170 %."
    remembered = check_stage("50L6-GT", hot)
    assert (remembered.answer, remembered.over_limit) == ("warn", True)


@pytest.mark.parametrize(("called", "watts"), [("6BQ5", 12), ("6V6GT", 12), ("6V6-GT/G", 12), ("ECL82 (pentode)", 7)])
def test_a_type_is_known_by_its_other_names(called, watts):
    assert output_valve(called).plate_limit.watts == watts


@pytest.mark.parametrize("called", ["", "12SK7", "???", "x" * 10_000, "80"])
def test_what_is_no_output_valve_is_unknown(called):
    assert output_valve(called) is None
    with pytest.raises(BenchError, match="Give the watts its plate may get rid of") as raised:
        check_stage(called, EL84)
    assert raised.value.code == "unknown"


def test_limits_given_by_hand_judge_a_valve_that_no_table_has():
    found = check_stage("P460", EL84, plate_watts_limit=D(9))
    assert found.answer == "no"
    assert words(found, "screen_unknown").startswith("What its screen takes isn't known")


def test_a_pair_on_one_resistor_shares_its_current():
    one, two = check_stage("EL84", EL84), check_stage("EL84", replace(EL84, count=2))
    assert two.currents.cathode * 2 == pytest.approx(one.currents.cathode)
    assert two.plate_watts * 2 == pytest.approx(one.plate_watts)


def test_a_measured_screen_current_counts_before_the_sheets():
    found = check_stage("EL84", replace(EL84, screen_amps=D("0.010")))
    assert found.currents.screen == D("0.010")
    assert found.screen_watts == (D(250) - D("7.3")) * D("0.010")
    assert words(found, "screen_over").startswith("The screen gets rid of 2.427 W, above the 2 W that EL84 may")


def test_without_a_cathode_resistor_the_drop_over_the_winding_tells():
    found = check_stage("6V6-GT", StageReadings(D(250), winding_volts=D(9), winding_ohms=D(200)))
    assert (found.currents.plate, found.currents.cathode, found.plate_watts) == (D("0.045"), None, D("11.25"))
    assert found.currents.plate_how == "drop over the transformer's winding"


def test_a_plate_that_takes_more_than_the_cathode_passes_is_a_contradiction():
    found = check_stage("EL84", replace(EL84, plate_amps=D("0.06")))
    assert "leaking cathode bypass" in words(found, "currents_disagree")


def test_too_much_or_too_little_current_for_the_voltage_names_what_to_look_for():
    much = StageReadings(D(117), cathode_volts=D(11), cathode_ohms=D(140))
    assert "a coupling capacitor that leaks" in words(check_stage("50L6-GT", much), "much_current")
    little = StageReadings(D(117), cathode_volts=D(3), cathode_ohms=D(140))
    assert "a tired valve" in words(check_stage("50L6-GT", little), "little_current")


def test_a_positive_grid_names_the_coupling_capacitor():
    assert check_grid(D("0.02"), D(7)) is None
    assert check_grid(D("-12"), D(12)) is None
    begins, leaks = check_grid(D("0.3"), D(7)), check_grid(D("1.4"), D(7))
    assert (begins.level, leaks.level) == ("warn", "no")
    assert "the coupling capacitor leaks and is replaced" in leaks.message
    assert "coupling capacitor" in words(check_stage("EL84", replace(EL84, grid_volts=D("1.4"))), "grid")


def test_after_a_rise_of_b_plus_a_cathode_biased_stage_is_bounded_by_two_laws():
    found = after_bplus_change(check_stage("EL84", EL84), D(275), D(250))
    assert found.cathode_volts.low == pytest.approx(D("8.03"))
    assert found.cathode_volts.high == pytest.approx(D("7.3") * D("1.1") ** D("1.5"))
    assert found.plate_watts.low == pytest.approx(check_stage("EL84", EL84).plate_watts * D("1.21"))
    assert found.answer == "warn"
    assert "the cathode resistor stays" in found.assumption


@pytest.mark.parametrize("drive_over_bias", [1.05, 1.5, 3, 10])
@pytest.mark.parametrize("new", [D(220), D(300)])
def test_the_estimate_holds_whatever_the_valves_amplification(drive_over_bias, new):
    """Ik = P (Vs/µ - Ik Rk)^1.5 solved by halving, against the estimate. Source: three-halves law, textbook relation."""
    found = after_bplus_change(check_stage("EL84", EL84), new, D(250))
    now = float(D("7.3") / 135)
    space = 7.3 * drive_over_bias
    perveance, drive = now / (space - 7.3) ** 1.5, space * float(new) / 250
    low, high = 0.0, drive / 135
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if perveance * (drive - middle * 135) ** 1.5 > middle else (low, middle)
    assert float(found.cathode_amps.low) <= low * 1.0001
    assert low <= float(found.cathode_amps.high) * 1.0001


def test_a_bias_of_its_own_says_what_is_assumed():
    found = after_bplus_change(check_stage("6V6", StageReadings(D(250), plate_amps=D("0.045"))), D(240), D(250))
    assert found.cathode_volts is None
    assert found.plate_watts.low == found.plate_watts.high
    assert "A bias that stays where it is" in found.assumption


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        (replace(EL84, plate_volts=D("NaN")), "The plate voltage must lie between"),
        (replace(EL84, plate_volts=D("1e30")), "The plate voltage must lie between"),
        (replace(EL84, plate_volts=D(5)), "The plate must be above the cathode."),
        (replace(EL84, cathode_volts=D(-7)), "The cathode must not be below"),
        (replace(EL84, screen_volts=D(3)), "The screen must be above the cathode."),
        (replace(EL84, cathode_ohms=D(0)), "The cathode resistor must lie between"),
        (replace(EL84, count=0), "From 1 to 8 valves"),
        (replace(EL84, screen_amps=D(99)), "The screen current must lie between"),
        (replace(EL84, screen_fraction=D("0.95")), "The screen's share of the current must lie between"),
        (StageReadings(D(250)), "Give the cathode voltage with its resistor"),
        (StageReadings(D(250), winding_volts=D(9), winding_ohms=D("Infinity")), "The winding must lie between"),
    ],
)
def test_readings_that_no_stage_has_are_refused_in_words(readings, said):
    with pytest.raises(BenchError, match=said) as raised:
        check_stage("EL84", readings)
    assert raised.value.code == "out_of_range"


@pytest.mark.parametrize(("new", "old"), [(D(0), D(250)), (D(1000), D(250)), (D("NaN"), D(250)), (D(100), D(250))])
def test_a_b_plus_too_far_away_is_refused(new, old):
    with pytest.raises(BenchError):
        after_bplus_change(check_stage("EL84", EL84), new, old)
