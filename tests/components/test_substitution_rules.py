"""Rules on materials, lines, cords, temperature, can sections and order, on positions of an invented set."""

from datetime import date
from decimal import Decimal

import pytest

from inventory.components.line_rules import line_leak
from inventory.components.notation import read_notation
from inventory.components.rating_rules import no_load_peak_volts
from inventory.components.roles import ROLES, UnknownRole, find_role
from inventory.components.specs import Spec
from inventory.components.substitution import Candidate, SubstitutionError, careful_order, judge_substitute, rank
from inventory.components.watt_rules import derating_share, standard_watts

D = Decimal


def part(text, **more):
    spec = read_notation(text)
    return Candidate(spec, spec.kind, **more)


def told(answer):
    return {reason.code: reason.level for reason in answer.reasons}


def asked(role, called, offered, **around):
    return judge_substitute(role, read_notation(called), part(offered), **around)


# roles
@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("reservoir", "reservoir"),
        ("First filter", "reservoir"),
        ("first filter, 5U4-G", "reservoir"),
        ("second filter after choke", "smoothing"),
        ("filter", "filter"),
        ("across the line", "line_to_line"),
        ("line-to-line", "line_to_line"),
        ("X capacitor", "line_to_line"),
        ("line to chassis, transformerless", "line_to_chassis"),
        ("dropper resistor dissipating 0.22 W", "dropper"),
        ("anode load", "plate_load"),
        ("AGC", "avc"),
        ("curtain burner", "line_cord_resistor"),
    ],
)
def test_a_role_is_found_by_the_trades_names(text, code):
    assert find_role(text).code == code


def test_every_role_is_found_by_its_code_and_its_label():
    for code, role in ROLES.items():
        assert find_role(code).code == code
        assert find_role(role.label).code == code


@pytest.mark.parametrize("text", ["", "ornament", "?" * 5000, "capacitive mood", "\x00"])
def test_what_is_no_role_is_refused_with_the_roles_there_are(text):
    with pytest.raises(UnknownRole) as refused:
        find_role(text)
    assert refused.value.code == "unknown"
    assert "reservoir" in refused.value.message


# materials
@pytest.mark.parametrize(
    ("made_of", "marking", "answer"),
    [
        ("mica", "", "yes"),
        ("ceramic", "C0G", "yes"),
        ("ceramic", "", "warn"),
        ("ceramic", "X7R", "no"),
        ("ceramic", "Y5V", "no"),
        ("film", "polystyrene", "yes"),
        ("film", "", "warn"),
        ("film", "polyester", "warn"),
        ("paper", "", "no"),
        ("electrolytic", "tantalum", "no"),
        ("", "", "warn"),
        ("", "silver mica", "yes"),
        ("mica", "X7R", "yes"),
    ],
)
def test_a_tuned_circuit_takes_what_holds_its_value(made_of, marking, answer):
    spec = Spec("capacitance", D("1e-10"), volts=D(500), text=f"100 pF 500 V {marking}")
    given = judge_substitute("tuned_circuit", read_notation("100 MMF 500 V"), Candidate(spec, "capacitance", made_of))
    assert given.answer == answer


def test_what_a_coupling_capacitor_is_made_of_need_not_be_known():
    assert asked("coupling", "0.05 µF 400 V", "0.047 µF 400 V").answer == "yes"


def test_old_paper_is_a_caution_where_a_leak_upsets_the_next_valve():
    assert told(asked("coupling", "0.05 µF 400 V", "0.05 µF 400 V paper"))["material"] == "warn"


def test_a_marking_that_says_electrolytic_counts_as_polarised():
    assert told(asked("tone", "0.05 µF 400 V", "0.05 µF 450 V electrolytic"))["polarity"] == "no"
    assert asked("bypass", "10 µF 400 V", "10 µF 450 V electrolytic bipolar").answer == "yes"


# can sections
def test_sections_of_a_can_may_be_wired_in_any_order():
    assert asked("smoothing", "20+40 µF 450 V", "40+20 µF 450 V").answer == "yes"


def test_one_part_may_replace_one_section_of_a_can():
    assert told(asked("smoothing", "40+20 µF 450 V", "22 µF 450 V")) == {"sections": "warn", "value": "yes", "volts": "yes"}


def test_a_can_of_more_sections_may_be_used_in_part():
    assert asked("smoothing", "20 µF 450 V", "47+22 µF 450 V").answer == "yes"


# volts
def test_the_no_load_peak_is_refused_for_what_is_no_voltage():
    for wrong in ("-1", "NaN", "Infinity", "1e40"):
        with pytest.raises(SubstitutionError):
            no_load_peak_volts(D(wrong))


def test_an_electrolytic_near_its_rating_is_a_caution_and_a_film_part_is_not():
    called = read_notation("20 µF 450 V")
    assert told(judge_substitute("reservoir", called, part("22 µF 450 V"), volts_working=D(440)))["volts_margin"] == "warn"
    assert judge_substitute("reservoir", called, part("22 µF 450 V"), volts_working=D(424)).answer == "yes"
    film = judge_substitute("reservoir", called, part("22 µF 450 V", technology="film"), volts_working=D(440))
    assert film.answer == "yes"


def test_without_a_transformer_the_line_itself_charges_the_reservoir():
    around = {"supply": "transformerless", "line_volts": D(117), "rectifier": "35W4"}
    assert told(asked("reservoir", "30 µF 150 V", "33 µF 160 V", **around))["volts_start_up"] == "warn"
    assert asked("reservoir", "30 µF 150 V", "33 µF 200 V", **around).answer == "yes"


def test_bias_volts_below_zero_count_by_their_size():
    called = Spec("capacitance", D("25e-6"), volts=D(-50))
    assert judge_substitute("cathode_bypass", called, part("25 µF 63 V"), volts_working=D(-40)).answer == "yes"
    assert judge_substitute("cathode_bypass", called, part("25 µF 25 V")).answer == "no"


# reservoir
def test_what_the_maker_fitted_above_the_sheet_is_a_caution_not_a_refusal():
    assert told(asked("reservoir", "16 µF 450 V", "16 µF 450 V", rectifier="GZ37"))["reservoir_limit"] == "warn"


def test_a_filter_not_said_which_is_cautioned_where_a_first_filter_would_be_refused():
    around = {"rectifier": "5Y3-GT"}
    assert told(asked("filter", "16 µF 450 V", "30 µF 450 V", **around))["reservoir_limit"] == "warn"
    assert told(asked("reservoir", "16 µF 450 V", "30 µF 450 V", **around))["reservoir_limit"] == "no"


# the line
def test_the_line_current_is_told_and_cautions_once_the_sets_own_line_is_known():
    told_only = asked("line_to_chassis", "0.05 µF", "0.047 µF Y2 250 V", supply="transformerless")
    assert told(told_only)["line_current"] == "yes"
    assert any("3.4 mA at 230 V, 50 Hz (the worst of the usual lines)" in one.message for one in told_only.reasons)
    known = asked("line_to_chassis", "0.05 µF", "0.047 µF Y2 250 V", supply="transformerless", line_volts=D(117))
    assert told(known)["line_current"] == "warn"
    assert "passes 2.07 mA at 117 V, 60 Hz: more than the 0.5 mA" in known.reasons[0].message


def test_a_value_raised_above_the_one_called_for_is_a_caution_beyond_the_touch_limit():
    assert told(asked("line_to_chassis", "0.01 µF", "0.012 µF Y2 250 V"))["line_current"] == "warn"
    assert told(asked("line_to_chassis", "2000 pF", "2200 pF Y2 250 V"))["line_current"] == "yes"


def test_an_ac_rating_is_compared_with_the_line():
    assert told(asked("line_to_line", "0.05 µF", "0.047 µF X2 125 V", line_volts=D(230)))["volts_working"] == "no"
    assert asked("line_to_line", "0.05 µF", "0.047 µF X2 125 V", line_volts=D(117)).answer == "yes"
    assert told(asked("line_to_line", "0.05 µF", "0.047 µF X2 125 V"))["line_unknown"] == "warn"
    assert told(asked("line_to_line", "0.05 µF", "0.047 µF X2", line_volts=D(117)))["volts_unknown"] == "warn"
    assert told(asked("line_to_line", "0.05 µF X2 275 V", "0.047 µF X2 250 V"))["volts_below_called"] == "warn"


def test_what_can_be_touched_takes_y1_or_two_y2_in_series():
    assert asked("aerial_isolation", "1000 pF", "1000 pF Y1 250 V").answer == "yes"
    assert asked("aerial_isolation", "1000 pF", "1000 pF Y2 250 V").answer == "warn"
    assert asked("aerial_isolation", "1000 pF", "1000 pF X2 250 V").answer == "no"
    assert asked("aerial_isolation", "0.01 µF", "0.01 µF Y1 250 V").answer == "warn"


@pytest.mark.parametrize("wrong", [("NaN", None), ("sNaN", None), ("-1", None), ("1e-9", "Infinity")])
def test_a_line_current_of_nonsense_is_refused(wrong):
    with pytest.raises(SubstitutionError):
        line_leak(*(None if one is None else D(one) for one in wrong))


# watts
def test_the_next_standard_rating():
    assert [standard_watts(D(one)) for one in ("0.44", "0.6", "2.1", "300")] == [D("0.5"), D(1), D(3), D(300)]


def test_warmth_around_a_resistor_takes_some_of_its_rating():
    assert derating_share("carbon_film", D(70)) == 1
    assert derating_share("carbon_film", D(155)) == 0
    called = read_notation("1k 1 W")
    hot = judge_substitute("dropper", called, part("1k 1 W"), watts_dissipated=D("0.5"), ambient_celsius=D(120))
    assert told(hot) == {"derating": "warn", "value": "yes", "dissipation": "yes"}


def test_a_small_resistor_across_many_volts_is_a_caution():
    assert told(asked("plate_load", "1M 1/4 W", "1M 1/4 W", volts_working=D(300)))["element_volts"] == "warn"


def test_a_rating_alone_is_not_taken_for_the_value():
    assert told(asked("dropper", "1k 1/2 W", "1/2 W"))["unmarked"] == "warn"
    assert told(asked("dropper", "1/2 W", "1k 1/2 W"))["called_unknown"] == "warn"


def test_an_electrolytic_beside_a_hot_valve():
    called = read_notation("20 µF 450 V")
    cool, hot = D(40), D(70)
    made_for_85 = part("22 µF 450 V", max_celsius=D(85))
    assert judge_substitute("reservoir", called, made_for_85, ambient_celsius=cool).answer == "yes"
    assert told(judge_substitute("reservoir", called, made_for_85, ambient_celsius=hot))["warmth"] == "warn"
    assert judge_substitute("reservoir", called, part("22 µF 450 V", max_celsius=D(105)), ambient_celsius=hot).answer == "yes"


# cords, rectifiers, fuses
@pytest.mark.parametrize("role", ["line_cord_resistor", "ballast"])
def test_a_plain_cord_never_replaces_a_resistance_cord_or_ballast(role):
    answer = judge_substitute(role, read_notation("160 ohm 15 W"), Candidate(None, "other", label="two-core cord"))
    assert told(answer) == {"plain_cord": "no"}
    assert "asbestos" in answer.reasons[0].message


def test_a_line_cord_called_for_with_a_resistance_is_a_resistance_cord():
    assert judge_substitute("line_cord", read_notation("160 ohm"), Candidate(None, "other")).answer == "no"
    assert judge_substitute("line_cord", None, Candidate(None, "other")).answer == "warn"


def test_a_resistor_for_a_resistance_cord_is_a_caution_about_its_heat():
    answer = asked("line_cord_resistor", "160 ohm 15 W", "160 ohm 50 W")
    assert told(answer) == {"mount_clear": "warn", "value": "yes"}


def test_the_sets_own_chain_tells_what_the_cord_must_take():
    around = {"chain": ("6A7", "6D6", "75", "43", "25Z5"), "line_volts": D(117), "supply": "transformerless"}
    assert told(asked("line_cord_resistor", "160 ohm 15 W", "160 ohm 50 W", **around))["chain_dropper"] == "yes"
    assert told(asked("line_cord_resistor", "200 ohm 15 W", "200 ohm 50 W", **around))["chain_dropper"] == "warn"


def test_a_capacitor_or_diode_is_no_substitute_for_a_dropper():
    called = read_notation("160 ohm 15 W")
    assert judge_substitute("ballast", called, part("10 µF 400 V")).answer == "no"
    assert judge_substitute("ballast", called, Candidate(None, "transistor", valve_type="1N4007")).answer == "no"
    assert judge_substitute("dropper", called, part("10 µF 400 V")).answer == "no"


def test_the_ballast_called_for_by_type_goes_in():
    answer = judge_substitute("ballast", None, Candidate(None, "valve", valve_type="K55B"), called_type="K-55-B")
    assert answer.answer == "yes"


def test_a_silicon_diode_for_selenium_needs_a_resistor_and_enough_reverse_volts():
    around = {"called_type": "selenium 100 mA", "supply": "transformerless", "line_volts": D(230)}
    answer = judge_substitute("metal_rectifier", None, Candidate(None, "transistor", valve_type="1N4004"), **around)
    assert told(answer) == {"series_resistor": "warn", "peak_inverse": "warn"}
    answer = judge_substitute("metal_rectifier", None, Candidate(None, "transistor", valve_type="1N4007"), **around)
    assert told(answer) == {"series_resistor": "warn", "peak_inverse": "yes"}


def test_a_diode_does_not_simply_replace_a_rectifier_valve():
    diode = Candidate(None, "valve", valve_type="1N4007")
    assert judge_substitute("rectifier_valve", None, diode, called_type="35W4", supply="transformerless").answer == "no"


def test_a_fuse_is_never_replaced_by_a_larger_one():
    assert [asked("fuse", "1 A", offered).answer for offered in ("1 A", "2 A", "0.8 A")] == ["yes", "no", "warn"]


# order
def test_of_equal_answers_the_nearest_ratio_comes_first_and_absurd_ratings_last():
    called = read_notation("0.05 µF 200 V")
    offers = ["0.05 µF 2000 V", "0.06 µF 400 V", "0.042 µF 400 V", "0.05 µF 400 V"]
    ranked = rank(judge_substitute("coupling", called, part(text)) for text in offers)
    assert [(one.deviation_percent, one.headroom) for one in ranked] == [(0, 2), (0, 10), (-16, 2), (20, 2)]


def test_of_equal_parts_the_oldest_lot_comes_first_then_the_cheapest():
    answer = asked("coupling", "0.05 µF 400 V", "0.047 µF 630 V")
    old, new = date(2020, 5, 1), date(2024, 5, 1)
    lots = [(new, 10), (None, 1), (old, 30), (old, 20)]
    assert sorted(lots, key=lambda lot: careful_order(answer, *lot)) == [(old, 20), (old, 30), (new, 10), (None, 1)]
