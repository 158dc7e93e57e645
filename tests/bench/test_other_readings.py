"""Readings that aren't the value itself: ESR, insulation, leakage of the whole set, valve testers, windings."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.components.notation import NotationError, read_notation
from jobs.bench.leaks import judge_leak
from jobs.bench.practice import Picked, pick_practice, practice_band, suggestions
from jobs.bench.problems import BenchError
from jobs.bench.tester import judge_tester
from jobs.bench.verdicts import judge

D = Decimal


@pytest.mark.parametrize(
    ("role", "called", "measured", "verdict"),
    [
        ("reservoir", "47 µF 450 V", "ESR 1.5 Ω", "within"),
        ("reservoir", "47 µF 450 V", "e.s.r. 20", "drifted"),
        ("reservoir", "8 µF 450 V", "ESR 10 ohm", "within"),
        ("coupling", "0.05 µF 400 V", "ESR 10 ohm", "not_measured"),
        ("choke", "450 Ω", "570 Ω", "within"),
        ("choke", "450 Ω", "OL", "open"),
        ("choke", "450 Ω", "200 Ω", "drifted"),
        ("mains_transformer", "12 Ω", "insulation 1.5 MΩ", "leaky"),
        ("mains_transformer", "12 Ω", "insulation 20 MΩ", "within"),
        ("output_transformer", "250 Ω", "to core 0.5 M", "leaky"),
        ("valve", "", "72 %", "within"),
        ("valve", "", "emission 48%", "drifted"),
        ("valve", "", "Gm 4.2 mA/V of 5.5", "within"),
        ("valve", "", "55 minimum 60", "drifted"),
        ("rectifier_valve", "", "weak", "drifted"),
        ("valve", "", "heater-cathode short", "shorted"),
        ("valve", "", "gassy? gas at 3", "leaky"),
        ("valve", "", "7 of something", "not_measured"),
    ],
)
def test_a_reading_gets_its_verdict_and_a_reason(role, called, measured, verdict):
    practice = pick_practice([], role, "working", D(20))
    given_ = judge(read_notation(called) if called else None, measured, role=role, practice_percent=practice)
    assert given_.verdict == verdict, given_
    assert given_.reasons


def test_a_winding_that_reads_low_may_have_shorted_turns():
    found = judge(read_notation("450 Ω"), "200 Ω", role="choke", practice_percent=pick_practice([], "choke", "", D(20)))
    assert "A winding that reads low may have shorted turns" in found.reasons[1]
    inside = judge(read_notation("450 Ω"), "200 Ω", role="choke", in_circuit=True)
    assert inside.reasons[1] == "It reads low in circuit: lift one end before you condemn it."


def test_a_testers_reading_asks_for_tester_calibration_and_day():
    found = judge_tester("72 %")
    assert found is not None
    assert "calibration" in found.reasons[-1]


@pytest.mark.parametrize(
    ("reading", "passed", "limit", "unit"),
    [
        ({"volts_rms": D("0.75")}, True, "0.75", "V"),
        ({"volts_rms": D("0.7501")}, False, "0.75", "V"),
        ({"amps": D("0.0005")}, True, "0.0005", "A"),
        ({"amps": D("0.00051")}, False, "0.0005", "A"),
        ({"cold_ohms": D("1e6")}, True, "1e6", "ohm"),
        ({"cold_ohms": D("0.9e6")}, False, "1e6", "ohm"),
        ({"cold_ohms": D("Infinity")}, True, "1e6", "ohm"),
        ({"volts_rms": D("0.15"), "practice": "hot_check_015"}, True, "0.15", "V"),
        ({"volts_rms": D("0.16"), "practice": "hot_check_015"}, False, "0.15", "V"),
        ({"amps": D("0.0006"), "practice": "vde_0701_0702"}, False, "0.0005", "A"),
        ({"volts_rms": D("0.74"), "practice": "vde_0701_0702"}, True, "0.75", "V"),
        ({"cold_ohms": D("1.5e6"), "practice": "uk_pat"}, False, "2e6", "ohm"),
    ],
    ids=str,
)
def test_a_sets_leakage_is_held_to_its_practice(reading, passed, limit, unit):
    found = judge_leak(**reading)
    assert (found.passed, found.limit, found.unit) == (passed, D(limit), unit)
    assert found.source
    assert ("must not leave" in found.sentence) is not passed


@pytest.mark.parametrize(
    ("reading", "code"),
    [
        ({}, "out_of_range"),
        ({"volts_rms": D(1), "amps": D(1)}, "out_of_range"),
        ({"volts_rms": D(-1)}, "out_of_range"),
        ({"volts_rms": D("NaN")}, "out_of_range"),
        ({"amps": D("Infinity")}, "out_of_range"),
        ({"amps": D(1), "practice": "nobody's"}, "unknown"),
        ({"amps": D(1), "practice": "uk_pat"}, "unknown"),
    ],
    ids=str,
)
def test_a_reading_that_can_not_be_judged_says_why(reading, code):
    with pytest.raises(BenchError) as refused:
        judge_leak(**reading)
    assert refused.value.code == code
    assert len(refused.value.message) > 25


@pytest.mark.parametrize("odd", [D(-5), D(2000), (D(5), D(10)), (D(-200), D(0)), D("NaN"), D("Infinity")], ids=str)
def test_a_tolerance_that_can_not_be_is_refused(odd):
    with pytest.raises(BenchError) as refused:
        practice_band(odd)
    assert refused.value.code == "out_of_range"


def test_a_limit_is_within():
    called = read_notation("100 kΩ")
    assert judge(called, "120 kΩ").verdict == "within"
    assert judge(called, "80 kΩ").verdict == "within"
    assert judge(called, "120.1 kΩ").verdict == "drifted"
    assert judge(called, "120 kΩ", practice_percent=Picked((D(-20), D(10)), "as we do it")).verdict == "drifted"


def test_every_suggestion_holds_its_value_and_names_its_source():
    for one in suggestions():
        assert practice_band(one.band) == one.band
        assert one.source
        assert one.role or one.goal


@given(st.text(max_size=60), st.sampled_from(["valve", "choke", "mains_transformer", "reservoir", "coupling", "resistor", ""]))
@settings(max_examples=300, deadline=None)
def test_any_text_is_judged_or_refused_by_name(text, role):
    called = read_notation("47 µF 450 V") if role in ("reservoir", "coupling") else read_notation("450 Ω")
    refusal = None
    try:
        found = judge(called, text, role=role)
    except NotationError as refused:
        refusal = refused
    assert len(refusal.message) > 15 if refusal else found.verdict
