"""What must hold for every part at every position, whatever its numbers are."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from inventory.components.answers import LEVELS
from inventory.components.roles import ROLES
from inventory.components.specs import Spec
from inventory.components.substitution import Candidate, SubstitutionError, careful_order, judge_substitute, rank_key

D = Decimal
VALUED = [code for code, role in ROLES.items() if role.kind in ("resistance", "capacitance")]
CLASSES = (None, "X1", "X2", "X3", "Y1", "Y2", "Y3", "Y4", "X1/Y2", "Q7", "")
TECHNOLOGIES = ("", "film", "mica", "ceramic", "paper", "electrolytic", "wirewound", "carbon_film", "moonstone")
TEXTS = ("", "paper", "NP0", "X7R 0.01", "electrolytic NP", "silver mica", "\x00 " * 40)
amounts = st.decimals(allow_nan=True, allow_infinity=True) | st.decimals(D("1e-15"), D("1e15"), places=3)
sane = st.sampled_from(("1", "1.5", "2.2", "4.7", "10", "47", "100", "450", "1000")).map(D)
ratings = st.none() | sane


def specs(numbers: st.SearchStrategy[D]) -> st.SearchStrategy[Spec]:
    return st.builds(
        Spec,
        kind=st.sampled_from(("resistance", "capacitance", "inductance", "power", "voltage", "current")),
        value=numbers,
        tolerance_percent=st.none() | st.tuples(numbers, numbers),
        volts=st.none() | numbers,
        watts=st.none() | numbers,
        safety_class=st.sampled_from(CLASSES),
        sections=st.lists(numbers, max_size=4).map(tuple),
        text=st.sampled_from(TEXTS),
    )


def candidates(numbers: st.SearchStrategy[D]) -> st.SearchStrategy[Candidate]:
    return st.builds(
        Candidate,
        spec=st.none() | specs(numbers),
        kind=st.sampled_from(("resistance", "capacitance", "valve", "transistor", "other", "winding")),
        technology=st.sampled_from(TECHNOLOGIES),
        polarised=st.booleans(),
        valve_type=st.sampled_from(("", "EL84", "6BQ5", "12AX7", "1N4007", "selenium", "plain cord", "?")) | st.text(max_size=90),
        max_celsius=st.none() | numbers,
    )


def conditions(numbers: st.SearchStrategy[D]) -> st.SearchStrategy[dict[str, object]]:
    return st.fixed_dictionaries(
        {
            "called_type": st.sampled_from(("", "EL84", "12AX7", "35W4", "selenium")) | st.text(max_size=90),
            "rectifier": st.sampled_from(("", "5Y3", "GZ34", "6X4", "silicon")) | st.text(max_size=90),
            "supply": st.sampled_from(("", "transformerless", "transformer", "battery", "vibrator")),
            "chain": st.lists(st.sampled_from(("12BE6", "50C5", "35W4", "nothing")), max_size=4).map(tuple),
            **{name: st.none() | numbers for name in ("volts_working", "watts_dissipated", "line_volts", "line_hertz")},
            "ambient_celsius": st.none() | numbers,
        }
    )


@given(st.sampled_from(list(ROLES)), st.none() | specs(amounts), candidates(amounts), conditions(amounts))
def test_any_numbers_get_an_answer_or_are_out_of_range(role, called, candidate, around):
    try:
        answer = judge_substitute(role, called, candidate, **around)
    except SubstitutionError as error:
        refused = error
    else:
        rank_key(answer)
        return
    assert (refused.code, refused.message[-1]) == ("out_of_range", ".")


@given(st.sampled_from(list(ROLES)), st.none() | specs(sane), candidates(sane), conditions(sane))
def test_the_answer_is_the_worst_of_its_reasons_and_every_reason_is_a_sentence_with_a_source(role, called, candidate, around):
    answer = judge_substitute(role, called, candidate, **around)
    levels = [LEVELS[one.level] for one in answer.reasons]
    assert levels
    assert levels == sorted(levels, reverse=True)
    assert LEVELS[answer.answer] == levels[0]
    for one in answer.reasons:
        assert one.code.isidentifier()
        assert one.message.rstrip().endswith((".", "?"))
        assert one.source
    assert answer == judge_substitute(role, called, candidate, **around)


@given(st.sampled_from(VALUED), specs(sane), candidates(sane), conditions(sane), st.sampled_from(("volts", "watts")))
def test_a_higher_rating_never_makes_an_answer_worse(role, called, candidate, around, rating):
    if candidate.spec is None or getattr(candidate.spec, rating) is None:
        return
    higher = replace(candidate, spec=replace(candidate.spec, **{rating: getattr(candidate.spec, rating) * 2}))
    before, after = (judge_substitute(role, called, one, **around).answer for one in (candidate, higher))
    assert LEVELS[after] <= LEVELS[before]


@given(st.sampled_from(VALUED), sane, sane, conditions(sane))
def test_the_very_part_called_for_is_never_refused(role, value, rating, around):
    wanted = ROLES[role]
    safety = {"line_to_line": "X1", "line_to_chassis": "Y1"}.get(wanted.safety)
    called = Spec(wanted.kind, value, volts=rating, watts=rating, safety_class=safety)
    around |= {name: None for name in ("volts_working", "watts_dissipated", "line_volts")}
    assert judge_substitute(role, called, Candidate(called, wanted.kind), **around).answer != "no"


@given(specs(sane), st.lists(candidates(sane), min_size=2, max_size=6), conditions(sane))
def test_parts_can_always_be_put_in_order(called, offered, around):
    answers = [judge_substitute("coupling", called, one, **around) for one in offered]
    days = [date(2020, 1, 1), None, date(2021, 1, 1)]
    order = sorted(careful_order(one, days[place % 3], place) for place, one in enumerate(answers))
    assert [key[0][0] for key in order] == sorted(LEVELS[one.answer] for one in answers)
