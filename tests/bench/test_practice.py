"""Which band counts, and what bands can't be."""

from decimal import Decimal

import pytest

from inventory.components.notation import read_notation
from inventory.components.roles import ROLES
from inventory.components.specs import Spec
from jobs.bench.practice import PracticeRow, pick_practice, practice_band, suggestions, usual_practice
from jobs.bench.problems import BenchError
from jobs.bench.verdicts import judge

D = Decimal


def test_a_band_is_one_number_either_way_or_two():
    assert practice_band(D(20)) == (D(-20), D(20))
    assert practice_band((D(-20), D(80))) == (D(-20), D(80))


@pytest.mark.parametrize("value", [D(-5), D("NaN"), D("Infinity"), D(1001), (D(5), D(10)), (D(-101), D(0)), (D(-10), D(-5))])
def test_a_band_that_cannot_be_is_refused(value):
    with pytest.raises(BenchError) as refused:
        practice_band(value)
    assert refused.value.code == "out_of_range"
    assert "Give a percentage like 20, or two such as -20 and 80" in refused.value.message


def test_the_narrowest_row_names_itself_in_the_reason():
    rows = [PracticeRow("tuned_circuit", "museum", (D(-5), D(5))), PracticeRow("", "museum", (D(-30), D(30)))]
    picked = pick_practice(rows, "tuned_circuit", "museum", D(20), "Museum")
    judgement = judge(read_notation("250 pF"), "270 pF", practice_percent=picked)
    label = ROLES["tuned_circuit"].label.lower()
    assert judgement.verdict == "drifted"
    assert judgement.reasons[0].endswith(f"(±5 % by the shop's practice for {label} where the goal is museum).")


def test_without_a_row_windings_and_the_rest_have_what_is_usual():
    assert usual_practice("choke").band == (D(-30), D(30))
    assert usual_practice("coupling").band == (D(-20), D(20))
    assert usual_practice("choke", D(10)).band == (D(-10), D(10))


def test_what_is_offered_as_usual_has_a_known_role_a_band_and_a_source():
    for one in suggestions():
        assert one.role in ROLES or one.goal
        assert practice_band(one.band) == one.band
        assert one.source
        assert one.why


@pytest.mark.parametrize(
    ("called", "measured"),
    [
        (Spec("resistance", D("1e-300")), Spec("resistance", D("1e300"))),
        (Spec("resistance", D("1e300")), Spec("resistance", D(0))),
        (Spec("capacitance", D(0)), Spec("capacitance", D("1e-6"))),
        (Spec("capacitance", D(0)), Spec("current", D("1e-6"))),
        (Spec("capacitance", D(0)), Spec("resistance", D("1e-6"))),
        (Spec("voltage", D(-12)), Spec("voltage", D("1e30"))),
    ],
)
def test_absurd_values_are_judged_all_the_same(called, measured):
    assert judge(called, measured).reasons


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-5"])
def test_a_value_that_is_no_reading_is_refused(value):
    with pytest.raises(BenchError):
        judge(Spec("resistance", D(100)), Spec("resistance", D(value)))


def test_each_section_of_a_can_is_held_against_its_own_value_and_the_worst_counts():
    called = read_notation("40+20 µF 450 V")
    both = judge(called, "42+11 µF")
    assert both.verdict == "drifted"
    assert [reason[:9] for reason in both.reasons[:2]] == ["Section 1", "Section 2"]
    assert judge(called, "42+21 µF").verdict == "within"
    one = judge(called, "42 µF")
    assert one.verdict == "not_measured"
    assert one.reasons[-1] == "1 more to measure: write one reading a section, like 38+19 µF."
    assert judge(called, "42+21+20 µF").verdict == "not_measured"
