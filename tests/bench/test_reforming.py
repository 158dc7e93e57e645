"""Reforming: what to connect, and what the readings come to."""

from decimal import Decimal

import pytest

from jobs.bench.leakage import leakage_rules
from jobs.bench.problems import BenchError
from jobs.bench.reforming import CAUTION, Taken, advise, standing_of

D = Decimal


def run(*readings):
    """(minutes, volts, milliamps) each, judged for a 16 µF 450 V: 0.94 mA allowed."""
    taken = [Taken(D(minutes), D(volts), D(str(milliamps)) / 1000) for minutes, volts, milliamps in readings]
    return standing_of(taken, D(450), D("0.00094"))


@pytest.mark.parametrize(
    ("readings", "code"),
    [
        ([], "no_readings"),
        ([(0, 45, 3)], "forming"),
        ([(0, 45, 3), (5, 45, 2)], "forming"),
        ([(0, 45, 2), (5, 45, 3)], "rising"),
        # More leakage at more volts is what forming looks like.
        ([(0, 45, 0.2), (5, 112, 0.8)], "forming"),
        # Below the limit a small rise is the meter's.
        ([(0, 450, 0.2), (4, 450, 0.4)], "sound"),
        ([(0, 450, 0.9)], "settling"),
        ([(0, 450, 0.9), (2, 449, 0.8)], "sound"),
        ([(0, 450, 0.9), (1, 45, 0.1), (2, 450, 0.9)], "settling"),
        ([(0, 450, 1.2)], "too_much"),
        ([(0, 450, 4)], "hot"),
        ([(0, 500, 0.1)], "over_rated"),
        ([(0, 0, 0)], "forming"),
    ],
)
def test_what_the_readings_come_to(readings, code):
    assert run(*readings).code == code


def test_only_a_reading_at_rated_voltage_within_the_limit_is_sound():
    assert run((0, 450, 0.9)).is_sound
    assert not run((0, 430, 0.1)).is_sound
    assert run((0, 45, 2), (5, 45, 3)).must_stop


def test_the_advice_says_what_to_take_and_for_how_long():
    said = " ".join(sentence for sentence, _ in advise(D("16e-6"), D(450), "jan_c_62").sentences)
    assert "Feed it through 90 kΩ: at 450 V no more than 5 mA can flow." in said
    assert "gets rid of 2.25 W: take one of 5 W." in said
    assert "Begin at 45 V" in said
    assert "below 0.94 mA" in said
    assert "wait 7 s for the charge" in said
    assert "it holds 1.6 J" in said
    assert "through about 1000 Ω for about 30 min" in said


def test_the_series_resistor_in_use_is_counted_with():
    found = advise(D("16e-6"), D(450), "jan_c_62", D(10_000))
    assert (found.fault_amps, found.resistor_watts, found.wanted_ohms) == (D("0.045"), D("20.25"), D(90_000))


def test_the_caution_names_charge_bursting_and_the_eye_on_it():
    assert all(word in CAUTION[1] for word in ("discharge", "burst", "never leave it alone", "polarity", "Local codes"))


@pytest.mark.parametrize(
    ("farads", "volts", "rule", "ohms", "code"),
    [
        (D("NaN"), D(450), "jan_c_62", None, "out_of_range"),
        (D("16e-6"), D("1e9"), "jan_c_62", None, "out_of_range"),
        (D(-1), D(450), "jan_c_62", None, "out_of_range"),
        (D("16e-6"), D(450), "by feel", None, "unknown"),
        (D("16e-6"), D(450), "jan_c_62", D(0), "out_of_range"),
        (D("16e-6"), D(450), "jan_c_62", D("Infinity"), "out_of_range"),
    ],
)
def test_what_is_no_capacitor_of_a_radio_is_refused(farads, volts, rule, ohms, code):
    with pytest.raises(BenchError) as raised:
        advise(farads, volts, rule, ohms)
    assert raised.value.code == code


@pytest.mark.parametrize("rule", [code for code, _ in leakage_rules()])
@pytest.mark.parametrize(("farads", "volts"), [("1e-7", 1), ("1", 1000), ("47e-6", 100), ("8e-6", 99)])
def test_every_rule_has_a_limit_for_every_electrolytic(rule, farads, volts):
    found = advise(D(farads), D(volts), rule)
    assert found.limit.amps > 0
    assert all(sentence and source for sentence, source in found.sentences)
