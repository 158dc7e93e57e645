"""Tax rounding against HMRC's guidance (VATREC12010, Notice 700, 17.5). Source of each row: data/tax_rounding.csv."""

from decimal import Decimal

import pytest

from shop.money import round_minor
from shop.totals import tax_on_net
from tests.outside.facts import agree, facts

ROWS = facts("tax_rounding.csv")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['net']}-{row['rate_percent']}")
def test_tax_is_rounded_half_up_and_never_down(row: dict[str, str]) -> None:
    exact = Decimal(row["net"]) * Decimal(row["rate_percent"]) / 100
    agree(row, exact == Decimal(row["exact"]), f"{row['rate_percent']} % of {row['net']} is {exact}")
    pence = round_minor(exact * 100)
    agree(row, pence == Decimal(row["half_up"]) * 100, f"{exact} rounds to {pence} pence")


@pytest.mark.parametrize("row", [row for row in ROWS if Decimal(row["net"]) * 100 % 1 == 0], ids=lambda row: row["net"])
def test_the_bills_own_tax_is_the_published_one(row: dict[str, str]) -> None:
    tax = tax_on_net(int(Decimal(row["net"]) * 100), int(row["rate_percent"]) * 100)
    agree(row, tax == Decimal(row["half_up"]) * 100, f"tax on {row['net']} is {tax} pence")
