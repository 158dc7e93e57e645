"""Capacitors measured on DC: leakage, insulation, and what a meter beyond its range says of them."""

from decimal import Decimal

import pytest

from inventory.components.notation import NotationError, read_notation
from jobs.bench.leaking import REFORM
from jobs.bench.verdicts import LIFT_ONE_END, judge

ELECTROLYTIC, PAPER = "8 µF 450 V", "0.05 µF 400 V"


def verdict(called: str, measured: str, **more):
    return judge(read_notation(called), measured, **more)


@pytest.mark.parametrize(
    ("called", "measured", "expected"),
    [
        (ELECTROLYTIC, "leaks 0.3 mA", "within"),
        (ELECTROLYTIC, "leakage: 0.3 mA at 450 V", "within"),
        (ELECTROLYTIC, "leakage current 2 mA", "leaky"),
        (ELECTROLYTIC, "leaks", "leaky"),
        (ELECTROLYTIC, "insulation 2 MΩ", "within"),
        (ELECTROLYTIC, "leaks 3 ohm", "shorted"),
        (PAPER, "leaks 10 µA at 250 V", "leaky"),
        (PAPER, "leaks 1 µA at 250 V", "within"),
        (PAPER, "0.3 mA", "leaky"),
        ("0.05 µF", "2 µA", "not_measured"),
        (PAPER, "insulation resistance 50 MΩ at 250 V", "leaky"),
        (PAPER, "insulation 500 MΩ", "within"),
        (PAPER, "insulation OL", "not_measured"),
        (PAPER, "0.00 µF", "open"),
        ("470 k", "leaks 0.3 mA", "not_measured"),
        ("470 k", "insulation 2 M", "not_measured"),
    ],
)
def test_a_leak_gets_its_verdict(called, measured, expected):
    judgement = verdict(called, measured)
    assert judgement.verdict == expected
    assert judgement.reasons


def test_a_small_capacitor_is_never_let_off_by_the_formula_for_electrolytics():
    # 0.3 mA would pass the microfarad formula; it is 1.3 MΩ beside a grid leak
    assert verdict(PAPER, "leaks 0.3 mA at 400 V").verdict == "leaky"


def test_a_leaky_electrolytic_may_be_reformed_first():
    assert REFORM in verdict(ELECTROLYTIC, "leaks 5 mA").reasons


def test_a_sound_reading_at_less_than_the_rating_proves_only_so_much():
    reasons = verdict(ELECTROLYTIC, "leaks 0.3 mA at 250 V").reasons
    assert reasons == (
        "It leaks 300 µA at 250 V; 620 µA is allowed (JAN-C-62 and EIA).",
        "That was at 250 V; it is rated 450 V: prove it at its working voltage.",
    )


def test_a_meter_beyond_its_range_does_not_make_a_capacitor_open():
    # an open capacitor shows next to no capacitance and a sound one endless ohms
    judgement = verdict(PAPER, "OL")
    assert judgement.verdict == "not_measured"
    assert "doesn't leak at the meter's few volts" in judgement.reasons[0]


def test_a_leak_in_circuit_may_be_a_neighbours():
    for measured in ("leaks 5 mA", "2 k", "short"):
        judgement = verdict(ELECTROLYTIC, measured, in_circuit=True)
        assert judgement.verdict in ("leaky", "shorted")
        assert any("lift one end" in reason for reason in judgement.reasons)
    assert LIFT_ONE_END not in verdict(ELECTROLYTIC, "leaks 0.3 mA", in_circuit=True).reasons


def test_a_rating_beyond_every_formula_is_judged_by_its_insulation():
    assert verdict("8 µF 5000 V", "2 MΩ").verdict == "within"
    assert verdict("8 µF 5000 V", "1 mA").verdict == "not_measured"


@pytest.mark.parametrize("measured", ["leaks like a sieve", "insulation fine", "leaks 5 V"])
def test_a_leak_without_a_figure_is_asked_for(measured):
    with pytest.raises(NotationError):
        verdict(PAPER, measured)


def test_the_least_leak_of_a_nearly_endless_part_is_written_out():
    assert judge(read_notation(PAPER), "leaks 0 mA").verdict == "within"
    assert judge(read_notation(PAPER), "leaks 0 mA").limits == (Decimal(0), Decimal("0.000004"))
