"""Safety limits, leakage formulas and bench arithmetic against published figures, each with its source beside it or in data/."""

from decimal import Decimal

import pytest

from inventory.components.notation import read_notation
from jobs.bench import dissipation
from jobs.bench.leakage import allowed_leakage, grid_shift_volts
from jobs.bench.safety import TakenReading, earth_limit_ohms, judge_check, judge_reading, network_ohms, practice
from tests.outside.facts import agree, facts


@pytest.mark.parametrize("row", facts("safety_limits.csv"), ids=lambda row: f"{row['practice']}-{row['test']}")
def test_a_safety_limit_is_the_published_one(row):
    test = practice(row["practice"]).test(row["test"])
    agree(row, (test.limit, test.op) == (Decimal(row["limit"]), row["op"]), f"{test.code} is {test.limit_text}")


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
