"""Reforming against published practice, each row with its source in data/reforming.csv."""

from decimal import Decimal

import pytest

from inventory.components.tables import toml_table
from jobs.bench.reforming import advise
from tests.outside.facts import agree, facts

STORED = {"stored_ohms": "series_ohms", "stored_minutes": "minutes", "years_without": "years_without"}


def worked_out(row):
    if row["quantity"] in STORED:
        return Decimal(toml_table("jobs.bench", "reforming.toml")["stored"][STORED[row["quantity"]]])
    ohms = Decimal(row["ohms"]) if row["ohms"] else None
    found = advise(Decimal(row["microfarads"]) * Decimal("1e-6"), Decimal(row["volts"]), "jan_c_62", ohms)
    return found.limit.amps if row["quantity"] == "limit_amps" else getattr(found, row["quantity"])


@pytest.mark.parametrize("row", facts("reforming.csv"), ids=lambda row: row["id"])
def test_reforming_is_advised_as_published(row):
    found = worked_out(row)
    agree(row, found == Decimal(row["value"]), f"{row['quantity']} is {found} {row['unit']}")
