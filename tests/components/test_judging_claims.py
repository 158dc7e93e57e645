"""A claim judged from plain values: what each reason says, and what holds whatever the case.

That a guarantee of a repair takes in the work done and the parts fitted, and not what was left alone, misuse or transport: common
practice, no source. That the last day of a period counts: Regulation (EEC, Euratom) No 1182/71, Article 3(2)(b) (from memory).
"""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from jobs.cover.case import FITTED, KEPT, OFFERED, ClaimCase, Finding, Line, Place
from jobs.cover.judging import RULES, TODAY, judge
from jobs.cover.reasons import AGAINST, FOR, NOTE, OPEN, CoveredAt, Proposal
from jobs.cover.terms import LawWords

BEGAN, CLAIMED = date(2026, 3, 2), date(2026, 5, 4)
LAST = date(2026, 5, 31)
DROPPED = "Damp, a fall, lightning, leaking batteries."
LINES = (
    Line(1, "new_part", "C2", "0.01 µF 630 V film", True, LAST, seq=9, lot=4),
    Line(2, "labour", "", "Repair", True, LAST),
    Line(3, "left_in", "R1", "plate load 220K", False, None, "left in as it was; only work done is covered"),
)
PLACES = (Place("C2", FITTED, 9), Place("R1", KEPT, 4, "within tolerance"), Place("C3", OFFERED, 6))
CASE = ClaimCase("J-2026-0004", CLAIMED, BEGAN, lines=LINES, places=PLACES, void_rules=(DROPPED,))
C2 = Finding(1, "C2 is open", "C2", 1, "yes", "part")


def case(*findings: Finding, **changes: Any) -> ClaimCase:
    return replace(CASE, findings=findings, **changes)


def one(**changes: Any) -> ClaimCase:
    return case(replace(C2, **changes))


def codes(proposal: Proposal, level: str) -> list[str]:
    return [reason.code for reason in proposal.reasons if reason.level == level]


def test_a_part_that_we_fitted_and_that_failed_in_time_is_covered_with_its_work() -> None:
    found = judge(one())
    assert (found.answer, found.is_open) == ("covered", False)
    assert found.places == (CoveredAt("C2"), CoveredAt(""))
    assert codes(found, FOR) == ["line", "date_runs", "fault_same", "cause_part", "work_runs"]
    assert found.about(1)[1].sentence == "Covered to the end of 31 May 2026; claimed on 4 May 2026, with 27 days left."


def test_the_last_day_counts_and_the_day_after_does_not() -> None:
    last, after = judge(one(), TODAY), judge(replace(one(), claimed_on=LAST + timedelta(days=1)))
    assert judge(replace(one(), claimed_on=LAST)).answer == last.answer == "covered"
    assert after.answer == "chargeable"
    assert "Covered to the end of 31 May 2026; claimed on 1 June 2026, 1 day after it." in [r.sentence for r in after.reasons]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"line": 3, "designator": "R1"}, "scope_left_in"),
        ({"line": None, "designator": "R1", "cause": "age"}, "scope_left_in"),
        ({"line": None, "designator": "C3"}, "scope_declined"),
        ({"line": 2, "designator": "C3"}, "scope_declined"),
        ({"line": None, "designator": "C9"}, "scope_not_done"),
        ({"line": None, "designator": ""}, "scope_no_line"),
        ({"line": 2, "designator": "C9", "same_fault": "no"}, "fault_other"),
        ({"cause": "transport"}, "cause_transport"),
        ({"cause": "use"}, "cause_use"),
        ({"line": 2, "cause": "age"}, "cause_age"),
        ({"void_rule": DROPPED}, "void"),
    ],
)
def test_what_speaks_against_cover(changes: dict[str, Any], code: str) -> None:
    found = judge(one(**changes))
    assert code in codes(found, AGAINST)
    assert (found.answer, found.places) == ("chargeable", ())


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"same_fault": "unsure"}, "fault_unsure"),
        ({"same_fault": "no", "cause": "unknown"}, "cause_unknown"),
        ({"line": None}, "line_not_named"),
        ({"designator": "C3"}, "other_position"),
        ({"cause": "age"}, "cause_age"),
        ({"void_rule": "The cat slept on it."}, "void_not_named"),
        ({"entry": 7, "entry_stands": False}, "entry_struck"),
    ],
)
def test_what_cannot_be_told_stays_open_and_is_not_guessed(changes: dict[str, Any], code: str) -> None:
    found = judge(one(**changes))
    assert code in codes(found, OPEN)
    assert (found.answer, found.is_open) == ("chargeable", True)


def test_a_lot_known_to_be_bad_speaks_for_cover_even_where_the_fault_is_not_sure() -> None:
    bad = (replace(LINES[0], lot_is_bad=True), *LINES[1:])
    found = judge(replace(one(same_fault="unsure", cause="unknown"), lines=bad))
    assert (found.answer, found.is_open) == ("covered", False)
    assert "lot_bad" in codes(found, FOR)


def test_another_fault_at_a_part_that_itself_failed_is_covered() -> None:
    found = judge(one(same_fault="no", cause="part"))
    assert found.answer == "covered"
    assert "fault_of_the_part" in codes(found, NOTE)


def test_a_fault_that_was_not_found_the_first_time_is_covered_by_the_line_of_the_work() -> None:
    missed = Finding(1, "C9 leaks: it was this all along", "C9", 2, "yes", "diagnosis")
    assert judge(case(missed)).places == (CoveredAt("C9"), CoveredAt(""))


def test_one_finding_covered_and_one_not_is_partly_covered_place_by_place() -> None:
    aged = Finding(2, "R1 has drifted", "R1", 3, "no", "age")
    found = judge(case(C2, aged))
    assert (found.answer, found.places) == ("partly", (CoveredAt("C2"),))


def test_parts_may_be_covered_longer_than_the_work_on_them() -> None:
    short = (LINES[0], replace(LINES[1], until_on=BEGAN + timedelta(days=30)), LINES[2])
    found = judge(replace(one(), lines=short))
    assert (found.answer, found.places) == ("partly", (CoveredAt("C2"),))
    assert "Cover of the work ended on 1 April 2026: the hours of this repair are charged." in [r.sentence for r in found.reasons]


def test_whoever_does_not_hold_the_warranty_claims_nothing_by_it() -> None:
    assert judge(replace(one(), holder=False)).answer == "chargeable"
    moved = judge(replace(one(), moved=True))
    assert moved.answer == "covered"
    assert "The set changed hands, and the warranty went along: whoever claims holds it." in [r.sentence for r in moved.reasons]


def test_the_law_stands_beside_our_own_terms() -> None:
    law = LawWords("gb", "Work is to be done with reasonable care and skill", "an Act, section 49", "memory", "check the text")
    told = next(reason for reason in judge(replace(one(), law=law)).reasons if reason.code == "law")
    assert (told.level, told.source) == (NOTE, "an Act, section 49")
    assert told.sentence == "Work is to be done with reasonable care and skill. Our own terms don't shorten that."


def test_without_a_finding_it_says_to_inspect_first() -> None:
    found = judge(CASE)
    assert (found.answer, codes(found, OPEN)) == ("chargeable", ["inspect"])


def test_old_verdicts_are_judged_by_the_rules_of_their_day() -> None:
    assert "2026-11" in RULES
    assert judge(one(), "2026-11").rules == "2026-11"
    with pytest.raises(KeyError):
        judge(one(), "1926-11")


DAYS = some.dates(BEGAN, BEGAN + timedelta(days=200))
NAMES = some.sampled_from(["", "C1", "C2", "C3", "R1", "V1"])
TEXTS = some.text("aµΩ %\"'", max_size=12)
A_LINE = some.builds(
    Line,
    ref=some.integers(1, 6),
    kind=some.sampled_from(["labour", "new_part", "used_valve", "left_in", ""]),
    designator=NAMES,
    text=TEXTS,
    covered=some.booleans(),
    until_on=some.none() | DAYS,
    note=TEXTS,
    seq=some.none() | some.integers(1, 40),
    lot=some.none() | some.integers(1, 9),
    lot_is_bad=some.booleans(),
)
A_FINDING = some.builds(
    Finding,
    number=some.integers(1, 6),
    text=TEXTS,
    designator=NAMES,
    line=some.none() | some.integers(1, 7),
    same_fault=some.sampled_from(["yes", "no", "unsure"]),
    cause=some.sampled_from(["part", "wiring", "diagnosis", "age", "transport", "use", "unknown"]),
    void_rule=some.sampled_from(["", DROPPED, "another"]),
    entry=some.none() | some.integers(1, 40),
    entry_stands=some.booleans(),
)
A_PLACE = some.builds(
    Place,
    designator=NAMES,
    outcome=some.sampled_from(["fitted", "repaired", "removed", "kept", "offered"]),
    seq=some.none() | some.integers(1, 40),
    why=TEXTS,
)


def several(rows: Any, by: str) -> Any:
    return some.lists(rows, max_size=5, unique_by=lambda row: getattr(row, by)).map(tuple)


CASES = some.builds(
    ClaimCase,
    job=some.just("J-2026-0004"),
    claimed_on=DAYS,
    starts_on=some.just(BEGAN),
    start_event=some.sampled_from(["hand_over", "ready", "invoice"]),
    holder=some.booleans(),
    moved=some.booleans(),
    lines=several(A_LINE, "ref"),
    findings=several(A_FINDING, "number"),
    places=several(A_PLACE, "designator"),
    void_rules=some.sampled_from([(), (DROPPED,)]),
    law=some.builds(LawWords, place=TEXTS, text=TEXTS, citation=TEXTS),
)
RANK = {"chargeable": 0, "partly": 1, "covered": 2}
FEWER = settings(max_examples=60, deadline=None)


@FEWER
@given(CASES)
def test_the_same_case_has_the_same_answer_through_json_and_in_any_order(given_case: ClaimCase) -> None:
    turned = replace(given_case, **{name: getattr(given_case, name)[::-1] for name in ("lines", "findings", "places")})
    read = ClaimCase.from_json(given_case.as_json())
    assert read == given_case.in_order
    assert judge(turned) == judge(given_case) == judge(read)
    assert turned.as_json() == given_case.as_json()
    assert Proposal.from_json(judge(given_case).as_json()) == judge(given_case)


WORSE = (
    lambda of: replace(of, holder=False),
    lambda of: replace(of, claimed_on=of.claimed_on + timedelta(days=400)),
    lambda of: replace(of, lines=tuple(replace(line, covered=False, until_on=None) for line in of.lines)),
    lambda of: replace(of, findings=tuple(replace(found, void_rule=DROPPED) for found in of.findings)),
    lambda of: replace(of, findings=tuple(replace(found, cause="transport") for found in of.findings)),
    lambda of: replace(of, findings=tuple(replace(found, entry_stands=False) for found in of.findings)),
    lambda of: replace(of, findings=(*of.findings[:1], *(replace(found, cause="use") for found in of.findings[1:]))),
)


@FEWER
@given(CASES, some.sampled_from(WORSE))
def test_a_reason_more_against_it_never_improves_the_answer(given_case: ClaimCase, worse: Any) -> None:
    before, after = judge(given_case), judge(worse(given_case))
    assert RANK[after.answer] <= RANK[before.answer]
    assert len(after.places) <= len(before.places)


@FEWER
@given(CASES)
def test_nothing_is_covered_without_a_finding_that_nothing_speaks_against(given_case: ClaimCase) -> None:
    found = judge(given_case)
    clear = [one for one in given_case.findings if {r.level for r in found.about(one.number)} <= {FOR, NOTE}]
    assert judge(replace(given_case, findings=())).answer == "chargeable"
    assert (found.answer == "chargeable") == (not clear)
    assert found.answer != "covered" or (len(clear) == len(given_case.findings) and not found.is_open)
