"""Coils, chokes and transformer windings by continuity, resistance and inductance."""

from decimal import Decimal

import pytest

from inventory.components.notation import read_notation
from jobs.bench.verdicts import LIFT_ONE_END, judge

D = Decimal


@pytest.mark.parametrize(
    ("called", "measured", "expected"),
    [
        ("200 ohm", "255", "within"),
        ("200 ohm", "DC resistance 255 ohm", "within"),
        ("200 ohm", "winding 150", "within"),
        ("200 ohm", "90", "drifted"),
        ("200 ohm", "0.3", "shorted"),
        ("200 ohm", "open", "open"),
        ("200 ohm", "300 k", "open"),
        ("200 ohm", "∞", "open"),
        ("200 ohm", "no continuity", "open"),
        ("200 ohm", "2.5 H", "not_measured"),
        ("200 ohm", "has continuity", "not_measured"),
        ("10 H", "200 ohm", "not_measured"),
        ("10 H", "12 H", "within"),
        ("10 H", "1 H", "drifted"),
        (None, "250", "not_measured"),
        (None, "continuity", "within"),
        (None, "open", "open"),
        (None, "short", "shorted"),
    ],
)
def test_a_winding_gets_its_verdict(called, measured, expected):
    judgement = judge(read_notation(called) if called else None, measured, role="choke")
    assert judgement.verdict == expected
    assert judgement.reasons


def test_a_winding_may_lie_tens_of_percent_off_and_a_resistor_may_not():
    # common practice, no source
    called = read_notation("200 ohm")
    assert judge(called, "255", role="output_transformer").verdict == "within"
    assert judge(called, "255", role="cathode_resistor").verdict == "drifted"


def test_a_low_winding_is_suspected_of_shorted_turns_once_it_is_free():
    called = read_notation("200 ohm")
    assert any("shorted turns" in reason for reason in judge(called, "90", role="choke").reasons)
    low = judge(called, "90", role="choke", in_circuit=True)
    assert LIFT_ONE_END in low.reasons
    high = judge(called, "400", role="choke", in_circuit=True)
    assert any("a winding can only read low" in reason for reason in high.reasons)


def test_continuity_is_not_said_to_prove_the_turns():
    assert judge(None, "continuity", role="output_transformer").reasons == (
        "It has continuity. That doesn't show shorted turns.",
    )
