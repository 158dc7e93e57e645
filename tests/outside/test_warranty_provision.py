"""The reserve for warranties against a published worked example of an expected value.

Source: the example of product warranties at https://annualreporting.info/warranties/ (read November 2026): of goods sold for
1,000,000, 90 in 100 need no repair, 6 a minor one at 30 % of the price, 4 a major one at 70 %: 18,000 and 28,000, before
discounting. The same principle is in IAS 37, paragraph 39 (from memory).
"""

import pytest

from jobs.forecast.reserve import ClaimHistory, OpenWarranty, reserve

GOODS, PRICE, DAYS = 1_000, 1_000_00, 3 * 365
MINOR, MAJOR = PRICE * 30 // 100, PRICE * 70 // 100
EXPECTED = GOODS * PRICE * (6 * 30 + 4 * 70) // 10_000


def test_with_much_experience_the_reserve_is_the_examples_expected_value() -> None:
    """Ten times the goods have run their time and came back as the example says: the shop's own log outweighs what is usual."""
    assert EXPECTED == 46_000_00
    costs = (MINOR,) * 600 + (MAJOR,) * 400
    history = ClaimHistory(jobs=10 * GOODS, exposure_days=10 * GOODS * DAYS, claims=len(costs), costs_minor=costs)
    found = reserve([OpenWarranty(0, DAYS, PRICE)] * GOODS, history)
    assert found.expected_minor == pytest.approx(EXPECTED, rel=0.03)
    assert found.low_minor < EXPECTED < found.high_minor
