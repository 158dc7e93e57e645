"""RFC 4180, section 2: its rules with their examples, read by the reader of price lists. `\\r\\n` in the table is CRLF."""

import json
from pathlib import Path

import pytest

from inventory.price_lists.layout import Layout
from inventory.price_lists.rows import opened
from tests.outside.facts import facts


@pytest.mark.parametrize("row", facts("csv_quoting.csv"), ids=lambda row: f"rule-{row['rule']}")
def test_the_rules_of_the_standard_hold(row: dict[str, str], tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(row["octets"].replace("\\r\\n", "\r\n").encode())
    with opened(path, Layout("csv", "GBP")) as source:
        assert [cells for _, cells in source.rows()] == json.loads(row["cells"])
