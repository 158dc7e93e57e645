"""Heaters in series across the line, and valves that don't belong among them."""

from decimal import Decimal

import pytest

from inventory.components.heaters import Heater, chain, heater_of, shunt_ohms
from inventory.components.problems import SubstitutionError
from inventory.components.substitution import Candidate, judge_substitute
from inventory.components.tables import csv_table

D = Decimal
SMALL_SET = ("12BE6", "12BA6", "12AV6", "50C5", "35W4")
CORD_SET = ("6A7", "6D6", "75", "43", "25Z5")


def valve(called, offered, **around):
    return judge_substitute("valve", None, Candidate(None, "valve", valve_type=offered), called_type=called, **around)


def levels(answer):
    return {reason.code: reason.level for reason in answer.reasons}


def test_every_heater_has_a_source_and_says_how_it_is_known():
    rows = csv_table("inventory.components", "heaters.csv")
    assert len(rows) >= 60
    assert len({row["type"] for row in rows}) == len(rows)
    for row in rows:
        assert 1 < D(row["volts"]) < 120
        assert 0 < D(row["amps"]) <= 3
        assert row["source"]
        assert row["origin"] in ("read", "computed", "memory", "practice")


def test_a_heater_is_found_by_another_name_and_by_its_family():
    assert heater_of("EL84").amps == heater_of("6BQ5").amps
    assert heater_of("6v6").volts == heater_of("6V6-GT").volts
    assert heater_of("no such valve") is None


def test_the_sum_of_the_drops_and_what_is_left_for_the_dropper():
    result = chain(CORD_SET, D(117))
    assert (result.volts, result.amps) == (D("68.9"), D("0.3"))
    assert result.dropper_volts == D("48.1")
    assert round(result.dropper_watts, 2) == D("14.43")
    assert result.sum_text == "6.3 + 6.3 + 6.3 + 25 + 25 = 68.9 V at 300 mA"


def test_a_chain_that_wants_a_little_more_than_the_line_needs_no_dropper():
    result = chain(SMALL_SET, D(117))
    assert (result.dropper_ohms, result.misfits) == (0, ())
    assert [one.code for one in result.reasons] == ["chain_surge"]


def test_a_chain_that_wants_far_more_than_the_line_is_a_caution():
    assert "chain_volts" in {one.code for one in chain((*SMALL_SET, "50C5"), D(117)).reasons}


def test_cold_heaters_draw_several_times_their_current():
    result = chain(SMALL_SET, D(117))
    assert D("0.9") < result.surge_amps < D("1.1")


def test_a_valve_of_another_current_is_named():
    result = chain(("12BE6", "12BA6", "6AV6", "50C5", "35W4"), D(117))
    assert [one.type_name for one in result.misfits] == ["6AV6"]
    assert result.reasons[0].message == "6AV6 draws 300 mA in a chain of 150 mA: it would starve."
    assert result.reasons[0].level == "warn"  # a remembered figure


def test_a_figure_that_was_read_refuses():
    assert chain((*SMALL_SET, "6X4"), D(117)).reasons[0].level == "no"


def test_a_pilot_lamp_can_stand_in_the_chain():
    lamp = Heater("lamp", D("6.3"), D("0.15"), "marked on the lamp")
    assert chain((lamp, "12BE6"), D(117)).volts == D("18.9")


def test_unknown_types_are_left_out_and_named():
    assert chain((*SMALL_SET, "XYZ"), D(117)).unknown == ("XYZ",)


@pytest.mark.parametrize(
    ("valves", "line", "code"),
    [
        (("XYZ",), "117", "unknown"),
        ((), "117", "unknown"),
        (SMALL_SET, "0", "out_of_range"),
        (SMALL_SET, "NaN", "out_of_range"),
        (SMALL_SET, "sNaN", "out_of_range"),
        (SMALL_SET, "Infinity", "out_of_range"),
        (("12BE6",) * 100, "117", "out_of_range"),
        ((Heater("x", D(0), D(0), ""),), "117", "out_of_range"),
    ],
)
def test_an_absurd_chain_is_refused_with_what_would_be_accepted(valves, line, code):
    with pytest.raises(SubstitutionError) as refused:
        chain(valves, D(line))
    assert refused.value.code == code
    assert "Give" in refused.value.message


def test_a_shunt_takes_what_a_lesser_heater_leaves_over():
    assert shunt_ohms(D("6.3"), D("0.15"), D("0.3")) == 42
    with pytest.raises(SubstitutionError):
        shunt_ohms(D("6.3"), D("0.3"), D("0.3"))


def test_a_valve_of_another_heater_current_is_refused_in_a_set_without_transformer():
    answer = valve("12BE6", "6BE6", supply="transformerless", chain=SMALL_SET)
    assert answer.answer == "no"
    assert levels(answer) == {"valve_type": "no", "heater_current": "warn"}
    assert answer.reasons[1].message == "Its heater draws 300 mA, and the chain carries 150 mA: it would starve."


def test_a_valve_of_other_heater_volts_shows_the_new_sum():
    answer = valve("50C5", "35C5", supply="transformerless", chain=SMALL_SET, line_volts=D(117))
    assert answer.answer == "no"
    (said,) = [one.message for one in answer.reasons if one.code == "heater_volts"]
    assert said.startswith(
        "Its heater takes 35 V in place of 50 V: the chain becomes 12.6 + 12.6 + 12.6 + 35 + 35 = 107.8 V at 150 mA;"
    )
    assert said.endswith("the dropper must then take 9.2 V (61.3 Ω, 1.38 W).")


def test_a_heater_that_draws_more_is_a_caution_on_a_transformer():
    answer = valve("EZ80", "EZ81", supply="transformer")
    assert (answer.answer, levels(answer)["heater_current"]) == ("warn", "warn")


def test_a_larger_read_current_is_still_only_a_caution_on_a_transformer():
    assert "heater_current" not in levels(valve("6X5-GT", "6X4", supply="transformer"))


def test_the_type_called_for_needs_no_word_about_its_heater():
    assert levels(valve("12BE6", "12BE6", supply="transformerless", chain=SMALL_SET)) == {"valve_type": "yes"}
