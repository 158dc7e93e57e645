"""Substitutions judged by repairers and data sheets in public: tests/outside/data/substitution_cases.csv names each source."""

from decimal import Decimal

import pytest

from inventory.components.notation import read_notation
from inventory.components.roles import role
from inventory.components.substitution import Candidate, judge_substitute
from inventory.components.valves import rectifier_figure
from tests.outside.facts import agree, facts


@pytest.mark.parametrize("row", facts("substitution_cases.csv"), ids=lambda row: row["id"])
def test_a_published_substitution_gets_its_published_answer(row):
    watts = Decimal(row["watts_dissipated"]) if row["watts_dissipated"] else None
    candidate = Candidate(read_notation(row["candidate"]), role(row["role"]).kind)
    called = read_notation(row["called"])
    given = judge_substitute(row["role"], called, candidate, rectifier=row["rectifier"], watts_dissipated=watts)
    agree(row, given.answer == row["answer"], f"{row['id']} is answered {given.answer}: {[one.message for one in given.reasons]}")
    assert given.reasons


@pytest.mark.parametrize("row", facts("rectifier_reservoirs.csv"), ids=lambda row: row["type"])
def test_the_largest_first_capacitor_is_the_data_sheets(row):
    figure = rectifier_figure(row["type"], "max_reservoir_uf")
    agree(row, figure is not None and figure.value == Decimal(row["max_reservoir_uf"]), f"{row['type']} gives {figure}")


@pytest.mark.parametrize(
    "row", [row for row in facts("rectifier_reservoirs.csv") if row["origin"] == "memory"], ids=lambda row: row["type"]
)
def test_a_remembered_limit_never_refuses(row):
    limit = Decimal(row["max_reservoir_uf"])
    called = read_notation(f"{limit} µF 450 V")
    offered = Candidate(read_notation(f"{limit * 2} µF 450 V"), "capacitance")
    reasons = judge_substitute("reservoir", called, offered, rectifier=row["type"]).reasons
    (spoken,) = [reason for reason in reasons if reason.code == "reservoir_limit"]
    figure = rectifier_figure(row["type"], "max_reservoir_uf")
    assert figure is not None
    assert spoken.level == ("warn" if figure.from_memory else "no")
