"""Two parts joined, against textbook rows: tests/outside/data/joined_parts.csv names each source."""

from decimal import Decimal

import pytest

from inventory.components.combining import Needed, made_of
from inventory.components.joining import StockValue
from tests.outside.facts import agree, facts

ROWS = {row["id"]: row for row in facts("joined_parts.csv")}
DIVIDED = Decimal("44.0075")


def parts_of(row: dict[str, str], *, polarised: bool = False) -> list[StockValue]:
    return [
        StockValue(number, float(row[name]), volts=450.0, polarised=polarised) for number, name in enumerate(("first", "second"))
    ]


@pytest.mark.parametrize("row", ROWS.values(), ids=lambda row: row["id"])
def test_two_parts_make_the_textbook_value(row: dict[str, str]) -> None:
    wanted = Decimal(row["value"])
    made = made_of(Needed(row["kind"], wanted), row["how"], parts_of(row))
    agree(row, abs(made.value / wanted - 1) < Decimal("1e-9"), f"{row['id']} makes {made.value}, {wanted} is published")


def test_resistors_in_series_divide_the_voltage_as_published() -> None:
    """250 V over 220 kΩ and 47 kΩ leaves 44.0075 V (own arithmetic on a textbook relation, published with the row `div`)."""
    row = ROWS["div"]
    made = made_of(Needed("resistance", Decimal(267_000), volts=Decimal(250)), "series", parts_of(row))
    assert made.volts_seen is not None
    agree(row, abs(made.volts_seen[1] - DIVIDED) < Decimal("0.0001"), f"the lower one sees {made.volts_seen[1]}")


def test_electrolytics_in_series_are_told_to_be_balanced() -> None:
    row = ROWS["el-series"]
    needed = Needed("capacitance", Decimal("10e-6"), volts=Decimal(600), polarised=True)
    made = made_of(needed, "series", parts_of(row, polarised=True))
    agree(row, any("balancing resistor" in reason for reason in made.reasons), "nothing is said of balancing resistors")
