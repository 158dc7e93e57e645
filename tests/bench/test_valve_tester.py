"""Valve testers: figures against a new one or a reject mark, words, and what a figure alone leaves open."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.bench.readings import VERDICTS
from jobs.bench.tester import WITH_WHAT, judge_tester
from jobs.bench.verdicts import judge


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("72 %", "within"),
        ("emission 55 %", "drifted"),
        ("60%", "within"),
        ("59 per cent", "drifted"),
        ("Gm 4.2 of 5.5", "within"),
        ("Gm 2,5 mA/V of 5,5", "drifted"),
        ("2500/5000 µmho", "drifted"),
        ("72, reject 60", "within"),
        ("58 (min. 60)", "drifted"),
        ("good", "within"),
        ("as new", "within"),
        ("not good", "drifted"),
        ("no good", "drifted"),
        ("weak", "drifted"),
        ("short", "shorted"),
        ("heater-cathode leak", "shorted"),
        ("gassy", "leaky"),
        ("heater open", "open"),
        ("no shorts, 80 %", "within"),
        ("leak: none, good", "within"),
        ("95 %, but gas", "leaky"),
        ("no shorts", "not_measured"),
        ("Gm 4.2 mA/V", "not_measured"),
        ("72", "not_measured"),
        ("lights up nicely", "not_measured"),
        ("", "not_measured"),
        ("4 of 0", "not_measured"),
    ],
)
def test_a_testers_reading_gets_its_verdict(said, expected):
    assert judge(None, said, role="valve").verdict == expected


def test_a_reading_is_asked_for_its_tester_and_calibration():
    assert judge(None, "72 %", role="rectifier_valve").reasons == (
        "It shows 72 % of a new one: weak, but not below 60 %: watch it in the soak.",
        WITH_WHAT,
    )


def test_a_figure_alone_is_asked_what_a_new_one_reads():
    (reason,) = judge_tester("Gm 4.2 mA/V").reasons
    assert reason.startswith("Gm 4.2 mA/V alone says little: write what a new one reads with it")


def test_the_deviation_is_from_a_new_one():
    assert judge_tester("Gm 4.2 of 5.5").deviation_percent == Decimal("-23.64")


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=120) | st.text(alphabet="0123456789.,% /ofgmrejctshort", max_size=40))
def test_whatever_a_tester_is_said_to_show_gives_a_verdict(said):
    judgement = judge_tester(said)
    assert judgement.verdict in VERDICTS
    assert judgement.reasons
