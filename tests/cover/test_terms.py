"""The terms of a warranty as frozen data, and how they cover a line."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.cover import terms
from jobs.cover.terms import CoverTerms, LawWords

STARTS = date(2026, 3, 2)
GIVEN = CoverTerms({"labour": 90, "new_part": 90, "new_valve": 30, "used_valve": 14, "used_part": 45, "own_part": 0})

words = st.text(max_size=20)
any_terms = st.builds(
    CoverTerms,
    days=st.fixed_dictionaries({kind: st.integers(0, 3650) for kind in terms.KINDS}),
    start_event=st.sampled_from(["hand_over", "ready", "invoice"]),
    transfers=st.booleans(),
    void_rules=st.lists(words, max_size=4).map(tuple),
    law=st.builds(LawWords, words, words, words, words, words),
)


@pytest.mark.parametrize(
    ("part_kind", "condition", "is_own", "kind"),
    [
        ("capacitance", "new", False, "new_part"),
        ("capacitance", "used", False, "used_part"),
        ("winding", "rebuilt", False, "used_part"),
        ("valve", "new", False, "new_valve"),
        ("valve", "used", False, "used_valve"),
        ("transistor", "new", False, "new_valve"),
        ("valve", "new", True, "own_part"),
        ("resistance", "used", True, "own_part"),
    ],
)
def test_a_part_is_covered_as_its_kind_its_class_and_its_owner_say(part_kind, condition, is_own, kind):
    assert terms.kind_of(part_kind, condition, is_own) == kind


def test_the_last_day_is_counted_from_the_day_the_cover_starts_on():
    assert terms.line("new_valve", STARTS, GIVEN) == (True, 30, date(2026, 4, 1), "")


@pytest.mark.parametrize(
    ("kind", "why"),
    [
        ("own_part", "brought by the customer; only the work of fitting it is covered"),
        ("left_in", "left in as it was; only work done is covered"),
        ("something_else", "our terms give this kind no time of its own"),
    ],
)
def test_a_line_without_days_says_why_it_is_not_covered(kind, why):
    assert terms.line(kind, STARTS, GIVEN) == (False, None, None, why)


def test_what_was_left_in_is_never_covered_whatever_the_terms_say():
    assert not terms.line("left_in", STARTS, CoverTerms({"left_in": 90})).covered


def test_terms_of_before_there_were_terms_cover_nothing_by_themselves():
    assert CoverTerms.from_json({}) == CoverTerms(dict.fromkeys(terms.KINDS, 0))


@given(any_terms)
def test_terms_come_back_from_what_was_kept_as_they_were(given_terms):
    assert CoverTerms.from_json(given_terms.as_json()) == given_terms


@given(st.sampled_from(terms.KINDS), st.dates(date(1990, 1, 1), date(2100, 1, 1)), any_terms)
def test_a_covered_line_runs_exactly_its_days(kind, starts_on, given_terms):
    covered, days, until_on, note = terms.line(kind, starts_on, given_terms)
    assert covered == (given_terms.days[kind] > 0) == (not note)
    if covered:
        assert until_on - starts_on == timedelta(days=days)
