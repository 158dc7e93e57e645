"""Safety checks: what must be read, what fails, what makes a check void."""

from dataclasses import replace
from decimal import Decimal

import pytest

from jobs.bench.hazards import SUPPLY_KINDS, cautions
from jobs.bench.safety import (
    PRACTICES,
    TakenReading,
    UnknownPractice,
    earth_limit_ohms,
    find_practice,
    judge_check,
    judge_reading,
    network_milliamps,
    practice,
    required_readings,
)

D = Decimal


def good_readings(code: str, earthed: bool) -> list[TakenReading]:
    return [
        TakenReading(one.test.code, one.test.limit, one.polarity, one.switch) for one in required_readings(code, earthed=earthed)
    ]


def check(readings: list[TakenReading], code: str = "hot_check_075", isolated: bool = False, earthed: bool = False):
    return judge_check(code, readings, behind_isolating_transformer=isolated, earthed=earthed)


def test_the_hot_check_wants_both_plug_polarities_with_the_switch_on_and_off():
    wanted = {
        (one.polarity, one.switch) for one in required_readings("hot_check_075", earthed=False) if one.test.code == "hot_volts"
    }
    assert wanted == {("normal", "on"), ("normal", "off"), ("reversed", "on"), ("reversed", "off")}


@pytest.mark.parametrize("earthed", [True, False])
@pytest.mark.parametrize("code", list(PRACTICES))
def test_a_complete_check_at_its_limits_passes_and_lacks_any_one_reading_fails(code, earthed):
    readings = good_readings(code, earthed)
    assert readings
    assert check(readings, code, earthed=earthed).passed
    for left_out in readings:
        result = check([one for one in readings if one != left_out], code, earthed=earthed)
        assert not result.passed
        assert [(one.test.code, one.polarity, one.switch) for one in result.missing] == [
            (left_out.test_code, left_out.polarity, left_out.switch)
        ]


def test_one_bad_reading_fails_the_check_though_a_good_one_follows():
    readings = good_readings("hot_check_075", False)
    result = check([replace(readings[0], value=D("0.8")), *readings])
    assert not result.passed
    assert result.failed[0].result.limit_text == "at most 0.75 V"


def test_a_hot_check_behind_an_isolating_transformer_is_void():
    # source: Panasonic service manuals (TH-42PW5, DMR-E65, SA-HT822): not through an isolation transformer
    result = check(good_readings("hot_check_075", False), isolated=True)
    assert not result.passed
    assert len(result.invalid_reasons) == 1
    assert "isolating transformer" in result.invalid_reasons[0]


def test_a_leakage_tester_may_stand_for_the_network():
    readings = [
        replace(one, test_code="hot_milliamps", value=D("0.2")) if one.test_code == "hot_volts" else one
        for one in good_readings("hot_check_075", False)
    ]
    assert check(readings).passed


def test_an_empty_check_never_passes():
    assert not check([]).passed


@pytest.mark.parametrize("value", ["NaN", "-0.1"])
def test_a_reading_that_is_no_reading_never_passes(value):
    assert not judge_reading("hot_check_075", "hot_volts", D(value)).passed


def test_an_endless_resistance_is_as_good_as_it_gets():
    assert judge_reading("hot_check_075", "cold_megohms", D("Infinity")).passed


def test_three_quarters_of_a_volt_is_half_a_milliamp():
    assert network_milliamps(0.75, 60) == pytest.approx(0.5, abs=0.005)


def test_an_unknown_practice_or_test_is_refused():
    with pytest.raises(UnknownPractice):
        practice("by_feel")
    with pytest.raises(UnknownPractice):
        judge_reading("uk_pat", "hot_volts", D(0))


@pytest.mark.parametrize("megohms", ["1", "5.2", "20", "Infinity"])
def test_a_cold_reading_is_that_of_a_return_path_or_endless(megohms):
    assert judge_reading("hot_check_075", "cold_megohms", D(megohms)).passed


@pytest.mark.parametrize("megohms", ["0.99", "5.21", "19.9"])
def test_a_cold_reading_in_between_is_a_leak_to_be_found(megohms):
    result = judge_reading("hot_check_075", "cold_megohms", D(megohms))
    assert not result.passed
    assert result.limit_text == "at least 1 MΩ, up to 5.2 MΩ, or endless (from 20)"


def test_a_case_that_is_no_radio_is_never_asked_for():
    wanted = {one.test.code for earthed in (True, False) for one in required_readings("vde_0701_0702", earthed=earthed)}
    assert wanted == {
        *("earth_ohms", "earth_milliamps", "touch_milliamps", "insulation_class_1_megohms", "insulation_class_2_megohms")
    }


@pytest.mark.parametrize(
    ("name", "code"),
    [("uk_pat", "uk_pat"), ("PAT", "uk_pat"), ("vde  0701-0702", "vde_0701_0702"), ("Hot check", "hot_check_075")],
)
def test_a_practice_goes_by_its_other_names_too(name, code):
    assert find_practice(name).code == code


@pytest.mark.parametrize("metres", ["-5", "NaN", "1e30", "5000"])
def test_an_odd_length_of_cord_never_allows_more_than_an_ohm(metres):
    assert D("0.3") <= earth_limit_ohms(D(metres)) <= 1


def codes(supply: str, **wanted) -> set[str]:
    return {one.code for one in cautions(supply, **{"year": 1938, "has_valves": True, **wanted})}


def test_a_transformerless_set_warns_of_its_live_chassis_and_others_do_not():
    assert "live_chassis" in codes("transformerless")
    assert all("live_chassis" not in codes(supply) for supply in SUPPLY_KINDS if supply != "transformerless")


def test_an_unknown_year_or_supply_hides_no_caution():
    for supply in SUPPLY_KINDS:
        assert codes(supply, year=1938) | codes(supply, year=1955) <= codes(supply, year=None)
    assert codes("transformerless") | codes("battery") <= codes("unknown")


def test_a_resistor_line_cord_is_expected_only_before_the_fifties():
    assert "line_cord_resistor" in codes("transformerless", year=1936)
    assert "line_cord_resistor" not in codes("transformerless", year=1958)


def test_what_was_found_adds_its_caution():
    assert "radium" in codes("transformer", features=frozenset({"luminous_paint"}))
    assert "radium" not in codes("transformer")
    assert "selenium" in codes("transformer", year=1990, features=frozenset({"selenium"}))


def test_every_caution_has_a_title_a_text_and_a_source():
    for supply in SUPPLY_KINDS:
        for one in cautions(supply, year=None, has_valves=True):
            assert one.title
            assert one.text.endswith(".")
            assert one.source
