"""Substitution rules one by one, on positions of an invented set."""

from decimal import Decimal

import pytest

from inventory.components.notation import read_notation
from inventory.components.roles import ROLES, UnknownRole, role
from inventory.components.safety_classes import class_rules
from inventory.components.substitution import Answer, Candidate, judge_substitute, rank

D = Decimal
REQUIRED = {
    *(
        "reservoir",
        "smoothing",
        "coupling",
        "bypass",
        "cathode_bypass",
        "tone",
        "avc",
        "tuned_circuit",
        "line_to_line",
        "line_to_chassis",
    ),
    *(
        "plate_load",
        "grid_leak",
        "cathode_resistor",
        "dropper",
        "surge_resistor",
        "bleeder",
        "volume_control",
        "valve",
        "rectifier_valve",
    ),
    *(
        "transistor",
        "choke",
        "field_coil",
        "output_transformer",
        "mains_transformer",
        "if_transformer",
        "antenna_coil",
        "speaker",
    ),
    *("pilot_lamp", "switch", "line_cord", "fuse", "other"),
}


def capacitor(text: str, technology: str = "", polarised: bool = False) -> Candidate:
    return Candidate(read_notation(text), "capacitance", technology, polarised)


def resistor(text: str) -> Candidate:
    return Candidate(read_notation(text), "resistance")


def codes(answer: Answer, level: str) -> set[str]:
    return {reason.code for reason in answer.reasons if reason.level == level}


def test_every_role_has_a_label_a_kind_and_a_source():
    assert set(ROLES) >= REQUIRED
    for one in ROLES.values():
        assert one.label
        assert one.source
        assert one.kind in ("resistance", "capacitance", "inductance", "winding", "valve", "lamp", "other")
        assert one.safety in ("line_to_line", "line_to_chassis", "")
        if one.window_percent and one.limit_percent:
            assert one.limit_percent[0] <= one.window_percent[0] <= 0 <= one.window_percent[1] <= one.limit_percent[1]


def test_a_role_that_does_not_exist_is_refused():
    with pytest.raises(UnknownRole):
        role("ornament")


@pytest.mark.parametrize("code", list(ROLES))
def test_a_position_whose_value_is_not_known_is_never_answered_yes(code):
    kind = ROLES[code].kind
    spec = {"capacitance": read_notation("0.1 µF 630 V Y2"), "resistance": read_notation("100k 1 W")}.get(kind)
    answer = judge_substitute(code, None, Candidate(spec, kind, "film", valve_type="6V6-GT"))
    assert answer.answer != "yes"
    assert all(reason.message and reason.source for reason in answer.reasons)


def test_a_lower_working_voltage_is_refused_with_both_figures():
    answer = judge_substitute("coupling", read_notation(".05 MFD 600 V"), capacitor("0.047 µF 400 V", "film"))
    assert answer.answer == "no"
    assert answer.reasons[0].message == "Rated 400 V, below the 600 V called for."


def test_the_working_voltage_counts_where_it_is_known():
    called = read_notation(".05 MFD 200 V")
    assert judge_substitute("coupling", called, capacitor("0.047 µF 250 V"), volts_working=D(300)).answer == "no"
    assert judge_substitute("coupling", called, capacitor("0.047 µF 400 V"), volts_working=D(300)).answer == "yes"


@pytest.mark.parametrize("marking", sorted(class_rules()))
def test_no_x_class_part_ever_goes_from_the_line_to_the_chassis(marking):
    called = read_notation("0.01 µF")
    answer = judge_substitute("line_to_chassis", called, capacitor(f"0.01 µF 250 V {marking}"), supply="transformerless")
    assert (answer.answer == "no") == marking.startswith("X")


def test_a_part_without_a_class_never_goes_on_the_line_whatever_its_voltage():
    for place in ("line_to_line", "line_to_chassis"):
        answer = judge_substitute(place, read_notation("0.05 µF 400 V"), capacitor("0.047 µF 1600 V", "film"))
        assert "safety_class" in codes(answer, "no")


def test_a_combined_class_counts_as_the_better_one_for_the_place():
    assert judge_substitute("line_to_chassis", read_notation("0.0047 µF"), capacitor("4n7 250 V X1/Y2")).answer == "yes"


def test_a_weaker_class_than_called_for_is_refused():
    assert judge_substitute("line_to_chassis", read_notation("0.0022 µF Y1"), capacitor("2n2 250 V Y2")).answer == "no"
    assert judge_substitute("line_to_chassis", read_notation("0.0022 µF Y2"), capacitor("2n2 250 V Y1")).answer == "yes"


def test_the_value_from_line_to_chassis_is_not_raised():
    assert judge_substitute("line_to_chassis", read_notation("0.01 µF"), capacitor("0.022 µF 250 V Y2")).answer == "no"


def test_an_electrolytic_is_refused_where_the_voltage_alternates():
    called = read_notation("0.02 µF 400 V")
    answer = judge_substitute("coupling", called, capacitor("0.022 µF 450 V", "electrolytic", polarised=True))
    assert "polarity" in codes(answer, "no")


def test_a_large_coupling_capacitor_of_a_transistor_set_may_be_polarised_with_care():
    answer = judge_substitute("coupling", read_notation("10 µF 15 V"), capacitor("10 µF 25 V", "electrolytic", polarised=True))
    assert answer.answer == "warn"
    assert codes(answer, "warn") == {"polarity"}


def test_a_tuned_circuit_takes_a_stable_part_of_nearly_the_same_value():
    called = read_notation("100 MMF 500 V")
    assert judge_substitute("tuned_circuit", called, capacitor("100 pF 500 V", "mica")).answer == "yes"
    assert judge_substitute("tuned_circuit", called, capacitor("100 pF 500 V", "ceramic")).answer == "warn"
    assert judge_substitute("tuned_circuit", called, capacitor("100 pF 500 V", "paper")).answer == "no"
    assert judge_substitute("tuned_circuit", called, capacitor("120 pF 500 V", "mica")).answer == "no"


def test_a_resistor_that_would_burn_is_refused_and_one_that_runs_hot_is_a_caution():
    called = read_notation("1k 1 W")
    assert judge_substitute("dropper", called, resistor("1k 2 W"), watts_dissipated=D(3)).answer == "no"
    assert judge_substitute("dropper", called, resistor("1k 2 W"), watts_dissipated=D("1.5")).answer == "warn"
    assert judge_substitute("dropper", called, resistor("1k 2 W"), watts_dissipated=D(1)).answer == "yes"
    assert judge_substitute("dropper", called, resistor("1k 1/2 W")).answer == "no"


def test_the_wrong_kind_of_part_is_refused():
    assert judge_substitute("coupling", read_notation("0.02 µF 400 V"), resistor("22k 1 W")).answer == "no"


def test_a_looser_tolerance_than_called_for_is_a_caution():
    answer = judge_substitute("plate_load", read_notation("220k 1/2 W 5 %"), resistor("220k 1/2 W 10 %"))
    assert codes(answer, "warn") == {"tolerance"}


def test_a_can_with_fewer_sections_is_a_caution():
    answer = judge_substitute("smoothing", read_notation("40+20 µF 450 V"), capacitor("40 µF 450 V", "electrolytic", True))
    assert codes(answer, "warn") == {"sections"}


def test_every_section_of_a_can_is_compared():
    answer = judge_substitute("smoothing", read_notation("20+20 µF 450 V"), capacitor("20+80 µF 450 V", "electrolytic", True))
    assert answer.answer == "no"


def test_a_silicon_rectifier_sets_no_limit_to_the_reservoir():
    called, offered = read_notation("20 µF 450 V"), capacitor("22 µF 450 V")
    assert judge_substitute("reservoir", called, offered, rectifier="silicon").answer == "yes"
    assert judge_substitute("reservoir", called, offered, rectifier="5Y3GT").answer == "warn"


@pytest.mark.parametrize(
    ("called", "offered", "answer"),
    [
        ("6V6-GT", "6v6gt", "yes"),
        ("6V6-GT", "6V6-G", "warn"),
        ("12AX7", "ECC83", "yes"),
        ("80", "5Y3-GT", "warn"),
        ("6V6-GT", "6SK7", "no"),
        ("6V6-GT", "", "no"),
        ("", "6V6-GT", "warn"),
        ("EL84", "EL34", "no"),
    ],
)
def test_a_valve_goes_in_only_as_the_type_called_for_or_a_listed_equivalent(called, offered, answer):
    given = judge_substitute("valve", None, Candidate(None, "valve", valve_type=offered), called_type=called)
    assert given.answer == answer


def test_answers_are_ranked_yes_first_then_by_closeness():
    called = read_notation("0.05 µF 400 V")
    offers = ["0.1 µF 630 V", "0.056 µF 630 V", "0.047 µF 630 V", "0.05 µF", "0.05 µF 630 V"]
    ranked = rank(judge_substitute("coupling", called, capacitor(text, "film")) for text in offers)
    assert [(one.answer, one.deviation_percent) for one in ranked] == [
        ("yes", D(0)),
        ("yes", D(-6)),
        ("yes", D(12)),
        ("warn", D(0)),
        ("no", D(100)),
    ]
