"""Decimals of every currency against ISO 4217's list one. Source of each row: tests/outside/data/iso4217_minor_units.csv."""

import pytest

from shop.money import as_minor, as_money, minor_digits, plain, read_amount, show
from tests.outside.facts import agree, facts

ROWS = facts("iso4217_minor_units.csv")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["code"])
def test_a_currency_has_the_decimals_of_the_standard(row: dict[str, str]) -> None:
    digits = minor_digits(row["code"])
    agree(row, digits == int(row["exponent"]), f"{row['code']} has {digits} decimals")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["code"])
def test_a_sum_survives_writing_and_reading_in_every_currency(row: dict[str, str]) -> None:
    for minor in (0, 1, 99, 100_001):
        assert read_amount(plain(minor, row["code"]), row["code"]) == minor
        assert as_minor(as_money(minor, row["code"])) == minor
    shown = show(1234, row["code"])
    decimals = shown.rsplit(".", 1)[1] if "." in shown.lstrip("0123456789 ") else ""
    assert len("".join(c for c in decimals if c.isdigit())) in (0, int(row["exponent"]))
