"""Verdicts on readings."""

from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.components.notation import NotationError, read_notation
from jobs.bench.verdicts import LIFT_ONE_END, VERDICTS, Judgement, judge

D = Decimal


@pytest.mark.parametrize(
    ("called", "measured", "verdict"),
    [
        ("470K", "540K", "within"),
        ("470K 10 %", "540K", "drifted"),
        ("470K", "OL", "open"),
        ("470K", "o.l.", "open"),
        ("470K", "∞", "open"),
        ("470K", "short", "shorted"),
        ("470K", "0.2 ohm", "shorted"),
        ("470 ohm", "60k", "open"),
        ("470K", "0.05 µF", "wrong_part"),
        ("470K", "", "not_measured"),
        ("0.05 µF 400 V", "leaky", "leaky"),
        ("0.05 µF 400 V", "leaky 2 M", "leaky"),
        ("0.05 µF 400 V", "2 M", "leaky"),
        ("0.05 µF 400 V", "2000 M", "within"),
        ("0.05 µF 400 V", "3 ohm", "shorted"),
        ("0.05 µF 400 V", "0.05", "within"),
        ("0.05 µF 400 V", "10 pF", "open"),
        ("8 µF 450 V", "1.2 mA", "leaky"),
        ("8 µF 450 V", "0.2 mA", "within"),
        ("8 µF", "0.2 mA", "not_measured"),
        ("250 V", "231", "within"),
        ("-12.5 V", "-12", "within"),
        ("-12.5 V", "0 V", "drifted"),
    ],
)
def test_a_reading_gets_its_verdict(called, measured, verdict):
    given_verdict = judge(read_notation(called), measured)
    assert given_verdict.verdict == verdict
    assert given_verdict.reasons
    assert given_verdict.label == VERDICTS[verdict]


def test_the_reason_names_reading_called_value_and_limits():
    judgement = judge(read_notation("470K 10 %"), "540K")
    assert judgement.deviation_percent == D("14.89")
    assert judgement.limits == (D(423000), D(517000))
    assert judgement.reasons == (
        "It reads 540 kΩ, 14.9 % above the 470 kΩ called for; 423 kΩ to 517 kΩ is allowed (±10 % as called for).",
    )


def test_the_edge_of_the_tolerance_is_within():
    assert judge(read_notation("100k"), "120k").verdict == "within"
    assert judge(read_notation("100k"), "80k").verdict == "within"
    assert judge(read_notation("100k"), "120.1k").verdict == "drifted"


def test_a_tolerance_given_goes_before_the_one_called_for():
    assert judge(read_notation("470K 10 %"), "540K", tolerance_percent=D(20)).verdict == "within"
    assert judge(read_notation("50 µF"), "90 µF", tolerance_percent=(D(-20), D(100))).verdict == "within"
    assert judge(read_notation("50 µF"), "35 µF", tolerance_percent=(D(-20), D(100))).verdict == "drifted"


def test_the_shops_own_practice_can_be_tighter():
    assert judge(read_notation("100k"), "108k", practice_percent=D(5)).verdict == "drifted"


def test_a_resistor_low_in_circuit_is_judged_with_a_caution_and_a_high_one_is_truly_high():
    low = judge(read_notation("100k"), "12k", in_circuit=True)
    assert low.verdict == "drifted"
    assert LIFT_ONE_END in low.reasons
    high = judge(read_notation("100k"), "180k", in_circuit=True)
    assert LIFT_ONE_END not in high.reasons
    assert "In circuit a resistor can only read low, so it is truly this high or higher." in high.reasons


def test_a_slipped_decimal_point_is_pointed_out():
    assert any("power of ten" in reason for reason in judge(read_notation(".01 µF"), "0.001 µF").reasons)


def test_nothing_called_for_leaves_nothing_to_compare_with_but_an_open_is_an_open():
    assert judge(None, "470k").verdict == "not_measured"
    assert judge(None, "open").verdict == "open"


def test_a_doubtful_reading_is_asked_about():
    with pytest.raises(NotationError) as doubt:
        judge(read_notation("8 µF 450 V"), "9")
    assert doubt.value.code == "ambiguous"


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=90) | st.text(alphabet="0123456789.,kMµFVleakyopn ", max_size=30))
def test_any_reading_gives_a_verdict_or_a_notation_error(text):
    with suppress(NotationError):
        assert isinstance(judge(read_notation("0.05 µF 400 V"), text), Judgement)
