"""The table of DEVELOPERS.md that says how each requirement of the standard is met, or that it isn't."""

import ast
import csv
import re
from collections import Counter
from functools import cache

from tests.house.checkout import ROOT

HEADING = "## Security, requirement by requirement"
ID = re.compile(r"V\d{1,2}\.\d{1,2}\.\d{1,2}")
TEST = re.compile(r"`(tests/[\w/]+\.py)::(\w+)`")


def _section() -> str:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    assert HEADING in text
    return text.partition(HEADING)[2].partition("\n## ")[0]


def _rows() -> list[list[str]]:
    lines = [line for line in _section().splitlines() if line.startswith("| V")]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines]


def _standard() -> set[str]:
    with (ROOT / "tests/house/asvs_5_0_0.csv").open(encoding="utf-8") as file:
        return {row["requirement"] for row in csv.DictReader(line for line in file if not line.startswith("#"))}


@cache
def _tests_in(path: str) -> frozenset[str]:
    file = ROOT / path
    if not file.is_file():
        return frozenset()
    tree = ast.parse(file.read_text("utf-8"))
    return frozenset(node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.ClassDef))


def test_every_requirement_of_levels_one_and_two_stands_in_the_table_once() -> None:
    named = Counter(one for row in _rows() for one in ID.findall(row[0]))
    assert [one for one, count in named.items() if count > 1] == []
    assert (_standard() - set(named), set(named) - _standard()) == (set(), set())


def test_every_row_has_its_four_cells() -> None:
    assert [row[0] for row in _rows() if len(row) not in (3, 4) or not all(row[:3])] == []


def test_every_test_that_the_table_names_is_there() -> None:
    named = TEST.findall(_section())
    assert len(named) > 80
    assert [f"{path}::{name}" for path, name in named if name not in _tests_in(path)] == []
