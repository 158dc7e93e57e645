"""Safety limits, leakage formulas and bench arithmetic against published figures, each with its source beside it or in data/."""

from decimal import Decimal

import pytest

from inventory.components.notation import read_notation
from jobs.bench import dissipation
from jobs.bench.leakage import allowed_leakage, grid_shift_volts
from jobs.bench.leaks import judge_leak
from jobs.bench.safety import (
    TakenReading,
    earth_current_limit_milliamps,
    earth_limit_ohms,
    judge_check,
    judge_reading,
    network_milliamps,
    network_ohms,
    practice,
)
from tests.outside.facts import agree, facts


@pytest.mark.parametrize("row", facts("safety_limits.csv"), ids=lambda row: f"{row['practice']}-{row['test']}")
def test_a_safety_limit_is_the_published_one(row):
    test = practice(row["practice"]).test(row["test"])
    agree(row, (test.limit, test.op) == (Decimal(row["limit"]), row["op"]), f"{test.code} is {test.limit_text}")


@pytest.mark.parametrize("row", facts("safety_cases.csv"), ids=lambda row: f"{row['practice']}-{row['reading']}-{row['value']}")
def test_a_set_passes_or_fails_as_its_practice_has_it(row):
    found = judge_leak(**{row["reading"]: Decimal(row["value"])}, practice=row["practice"])
    agree(row, found.passed is (row["passes"] == "yes"), f"{row['practice']} at {row['value']} {row['unit']}: {found.sentence}")
    assert found.unit == row["unit"]


def test_the_limits_in_volts_and_in_milliamps_are_one_limit():
    # source: own arithmetic on 1.5 kΩ ∥ 0.15 µF; half a milliamp is 0.75 V, a tenth 0.15 V
    for code, volts, milliamps in (("hot_check_075", 0.75, 0.5), ("hot_check_015", 0.15, 0.1)):
        assert network_milliamps(volts, 60) == pytest.approx(milliamps, rel=0.004)
        assert float(practice(code).test("hot_volts").limit) == volts
        assert float(practice(code).test("hot_milliamps").limit) == milliamps
    assert judge_leak(volts_rms=Decimal("0.75"), practice="vde_0701_0702").limit == Decimal("0.75")


def test_half_a_milliamp_is_about_the_peak_that_a_touch_may_carry():
    # source: IEC 60065 (from memory): 0.7 mA peak; a memory only informs
    row = {"source": "IEC 60065 (from memory)", "origin": "memory"}
    peak = float(practice("vde_0701_0702").test("touch_milliamps").limit) * 2**0.5
    agree(row, peak == pytest.approx(0.7, rel=0.02), f"0.5 mA rms have a peak of {peak:.3f} mA")


@pytest.mark.parametrize(("kilowatts", "milliamps"), [("0", "3.5"), ("3.5", "3.5"), ("6", "6"), ("10", "10"), ("25", "10")])
def test_goods_with_much_heating_may_have_more_current_in_their_protective_conductor(kilowatts, milliamps):
    # source: Benning ST 755 manual (VDE 0701-0702:2008-06) at manualshive.com: 1 mA a kilowatt above 3.5 kW, up to 10 mA
    assert earth_current_limit_milliamps(Decimal(kilowatts)) == Decimal(milliamps)


def test_insulation_is_tested_with_500_volts_and_with_250_where_that_would_harm():
    # source: rfillumination.com PAT insulation test
    for code in ("insulation_class_1_megohms", "insulation_class_2_megohms"):
        test = practice("uk_pat").test(code)
        assert (test.dc_volts, test.dc_volts_delicate) == (500, 250)
        assert "500 V DC" in test.label
        assert "250 V DC" in test.note


def test_the_hot_check_passes_at_0_74_volts_and_fails_at_0_76():
    # source: limit of Panasonic service manuals (TH-42PW5, DMR-E65, SA-HT822)
    assert judge_reading("hot_check_075", "hot_volts", Decimal("0.74")).passed
    assert not judge_reading("hot_check_075", "hot_volts", Decimal("0.76")).passed


def test_the_networks_impedance_is_close_to_1500_ohms_at_line_frequency():
    # source: own arithmetic on 1.5 kΩ ∥ 0.15 µF
    assert network_ohms(60) == pytest.approx(1494.63, abs=0.01)
    assert network_ohms(50) == pytest.approx(1496.27, abs=0.01)


@pytest.mark.parametrize(("metres", "ohms"), [("1.5", "0.3"), ("5", "0.3"), ("12.5", "0.4"), ("20", "0.5")])
def test_the_protective_conductor_may_have_more_resistance_in_a_longer_cord(metres, ohms):
    # source: Benning ST 755 manual (VDE 0701-0702:2008-06) at manualshive.com
    assert earth_limit_ohms(Decimal(metres)) == Decimal(ohms)


@pytest.mark.parametrize(
    ("earthed", "test", "value"),
    [(True, "insulation_class_1_megohms", "0.9"), (False, "insulation_class_2_megohms", "1.5")],
)
def test_too_little_insulation_fails_the_check_though_the_touch_current_is_small(earthed, test, value):
    # source: limits of the Benning ST 755 manual (VDE 0701-0702:2008-06) at manualshive.com
    readings = [TakenReading(test, Decimal(value)), TakenReading("touch_milliamps", Decimal("0.3"), "normal")]
    result = judge_check("vde_0701_0702", readings, behind_isolating_transformer=False, earthed=earthed)
    assert not result.passed
    assert [one.reading.test_code for one in result.failed] == [test]


@pytest.mark.parametrize(
    "row", facts("electrolytic_leakage.csv"), ids=lambda row: f"{row['rule']}-{row['microfarads']}-{row['volts']}"
)
def test_an_electrolytic_may_leak_what_its_formula_says(row):
    limit = allowed_leakage(Decimal(row["microfarads"]) * Decimal("1e-6"), Decimal(row["volts"]), row["rule"])
    agree(row, limit.amps == Decimal(row["microamps"]) * Decimal("1e-6"), f"{row['rule']} gives {limit.amps} A")


def _si(text: str) -> Decimal:
    return read_notation(text).value


@pytest.mark.parametrize(
    ("calculated", "published"),
    [
        # source: own arithmetic on textbook relations
        (dissipation.watts_from_amps(Decimal("0.07"), Decimal(450)), 2.205),
        (dissipation.amps_from_volts(Decimal("7.5"), Decimal(150)), 0.05),
        (dissipation.watts_from_volts(Decimal(4), Decimal(8)), 2.0),
        (dissipation.stored_joules(_si("40 µF"), Decimal(300)), 1.8),
        (dissipation.divided_volts(Decimal(250), _si("220k"), _si("47k")), 44.0075),
        (dissipation.dropper_ohms(Decimal(250), Decimal(100), Decimal("0.002")), 75000),
        (dissipation.in_series(_si("20 µF"), _si("30 µF")), 12e-6),
        (dissipation.reactance_ohms(_si("0.01 µF"), _si("1 kHz")), 15915.49),
        (dissipation.corner_hertz(_si("470 k"), _si("0.022 µF")), 15.392),
        (dissipation.corner_hertz(_si("150 ohm"), _si("25 µF")), 42.441),
        (dissipation.resonance_hertz(_si("240 µH"), _si("365 pF")), 537735),
        (dissipation.reflected_ohms(Decimal(28), Decimal("3.2")), 2508.8),
        (dissipation.capacitor_amps(_si("0.05 µF"), Decimal(117), Decimal(60)), 2.2054e-3),
        (dissipation.capacitor_amps(_si("4.7 nF"), Decimal(230), Decimal(50)), 0.3396e-3),
        (grid_shift_volts(Decimal(200), _si("100 meg"), _si("470 k")), 0.936),
    ],
)
def test_bench_arithmetic_agrees_with_worked_examples(calculated, published):
    assert float(calculated) == pytest.approx(published, rel=5e-4)
