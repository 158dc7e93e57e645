"""Markings by colour in handbooks, charts and lists: tests/outside/data/colour_markings.csv names the source of each."""

from decimal import Decimal

import pytest

from inventory.components.colours.reading import read_colours
from inventory.components.colours.schemes import scheme_named
from inventory.components.colours.writing import colours_for
from tests.outside.facts import agree, facts

# Tolerances of IEC 60062 as kodekata.net and resistorcolorcodes.org/chart both print them, in percent.
TOLERANCES = {
    "brown": "1",
    "red": "2",
    "orange": "0.05",
    "yellow": "0.02",
    "green": "0.5",
    "blue": "0.25",
    "gold": "5",
    "silver": "10",
}
# Temperature coefficients in ppm/K (resistorcolorcodes.org/chart, after IEC 60062).
COEFFICIENTS = {
    "black": 250,
    "brown": 100,
    "red": 50,
    "orange": 15,
    "yellow": 25,
    "green": 20,
    "blue": 10,
    "violet": 5,
    "grey": 1,
}


def colours_of(row: dict[str, str]) -> list[str]:
    return row["colours"].split(" ")


@pytest.mark.parametrize("row", facts("colour_markings.csv"), ids=lambda row: row["id"])
def test_a_marking_by_colour_reads_as_its_source_says(row):
    spec = read_colours(row["scheme"], colours_of(row))
    holds = spec.kind == row["kind"] and spec.value == Decimal(row["value"])
    if row["low"]:
        holds = holds and spec.tolerance_percent == (Decimal(row["low"]), Decimal(row["high"]))
    if row["volts"]:
        holds = holds and spec.volts == Decimal(row["volts"])
    agree(row, holds, f"{row['colours']} gives {spec}")


@pytest.mark.parametrize(
    "row", [row for row in facts("colour_markings.csv") if not row["id"].startswith("mica6-")], ids=lambda row: row["id"]
)
def test_the_value_is_marked_as_its_source_marks_it(row):
    wanted = (Decimal(row["low"]), Decimal(row["high"])) if row["low"] else None
    volts = Decimal(row["volts"]) if row["volts"] else None
    colours = colours_for(Decimal(row["value"]), row["kind"], wanted, row["scheme"], volts=volts)
    again = read_colours(row["scheme"], colours)
    agree(row, again.value == Decimal(row["value"]) and again.tolerance_percent == wanted, f"marked {colours}")


@pytest.mark.parametrize("colour", TOLERANCES)
def test_a_tolerance_band_says_what_both_charts_print(colour):
    percent = Decimal(TOLERANCES[colour])
    assert read_colours("iec60062", ["red", "red", "red", colour]).tolerance_percent == (-percent, percent)


def test_coefficients_are_those_of_the_chart():
    table = scheme_named("iec60062").forms[-1].places[-1].table
    assert {colour: int(said) for colour, said in table.colours.items()} == COEFFICIENTS


def test_the_body_colour_counts_where_there_is_no_dot_common_practice_no_source():
    """Common practice, no source: a resistor painted all one colour says that figure three times."""
    assert read_colours("body_end_dot", ["yellow"]).value == 440_000
