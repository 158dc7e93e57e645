"""Markings as printed in handbooks, on parts and on old sheets: tests/outside/data/markings.csv names the source of each."""

from decimal import Decimal

import pytest

from inventory.components.notation import NotationError, Spec, read_notation
from tests.outside.facts import agree, facts


def _readings(row: dict[str, str], kind: str | None) -> list[Spec]:
    """What the marking reads as; several when the reader asks back."""
    try:
        return [read_notation(row["marking"], kind)]
    except NotationError as doubt:
        return [reading.spec for reading in doubt.readings]


def _matches(row: dict[str, str], spec: Spec) -> bool:
    if float(spec.value) != pytest.approx(float(row["value"]), rel=1e-3):
        return False
    return not row["low"] or spec.tolerance_percent == (Decimal(row["low"]), Decimal(row["high"]))


@pytest.mark.parametrize("row", facts("markings.csv"), ids=lambda row: row["id"])
@pytest.mark.parametrize("knows_kind", [True, False])
def test_a_printed_marking_reads_as_its_source_says_or_is_offered_as_a_choice(row, knows_kind):
    readings = _readings(row, row["kind"] if knows_kind else None)
    agree(row, any(_matches(row, spec) for spec in readings), f"{row['marking']} gives {[str(spec.value) for spec in readings]}")


@pytest.mark.parametrize(
    "row", [row for row in facts("markings.csv") if row["scheme"].startswith("RKM")], ids=lambda row: row["id"]
)
def test_a_letter_in_place_of_the_decimal_point_is_never_doubtful(row):
    # source: IEC 60062, as quoted by Wikipedia's RKM code (mirrors wonilvalve.com, wikimili.com)
    agree(row, len(_readings(row, row["kind"])) == 1, f"{row['marking']} is doubtful")


@pytest.mark.parametrize("row", facts("iec60062_tolerance_letters.csv"), ids=lambda row: f"{row['part']}-{row['letter']}")
def test_a_tolerance_letter_means_what_iec_60062_says(row):
    value = {"resistor": "4K7", "capacitor": "47n", "capacitor <10 pF": "5p0"}[row["part"]]
    kind = "resistance" if row["part"] == "resistor" else "capacitance"
    marking = f"{value}{row['letter']}" if row["part"] == "resistor" else f"{value} {row['letter']}"
    band = read_notation(marking, kind).tolerance_percent
    scale = Decimal(20) if row["unit"] == "pF" else Decimal(1)  # 1 pF of 5 pF is 20 %
    agree(row, band == (Decimal(row["low"]) * scale, Decimal(row["high"]) * scale), f"{row['letter']} gives {band}")
