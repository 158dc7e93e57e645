"""What the trade takes for granted at the bench. Each row of data/bench_practice.csv is common practice, no source."""

from decimal import Decimal

import pytest

from inventory.components.notation import read_notation
from jobs.bench.practice import pick_practice
from jobs.bench.verdicts import judge
from tests.outside.facts import agree, facts


@pytest.mark.parametrize("row", facts("bench_practice.csv"), ids=lambda row: f"{row['role']}-{row['called']}-{row['measured']}")
def test_a_reading_is_judged_as_the_trade_does(row):
    called = read_notation(row["called"]) if row["called"] else None
    practice = pick_practice([], row["role"], "working", Decimal(20))
    found = judge(called, row["measured"], practice_percent=practice, role=row["role"])
    agree(row, found.verdict == row["verdict"], f"{row['fact']}: {row['measured']} is judged {found.verdict}")


def test_without_a_word_about_practice_a_value_may_lie_a_fifth_off():
    # common practice, no source
    limits = judge(read_notation("100 kΩ"), "100 kΩ").limits
    assert limits == (Decimal(80_000), Decimal(120_000))
