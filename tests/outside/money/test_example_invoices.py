"""Totals against published example invoices of EN 16931. Source of each: its `source` in data/en16931_example_invoices.json."""

import json
from decimal import Decimal
from typing import Any

import pytest

from shop.totals import Line, TaxKey, Totals, total
from tests.outside.facts import DATA

EXAMPLES: list[dict[str, Any]] = json.loads((DATA / "en16931_example_invoices.json").read_text(encoding="utf-8"))
# Documents whose own lines contradict themselves (their notes say how) can't be reckoned from price and quantity.
CONSISTENT = [example for example in EXAMPLES if not example["notes"]]


def key_of(row: dict[str, Any]) -> TaxKey:
    return TaxKey(row["cat"] or "O", int(Decimal(row["rate"] or 0) * 100))


def reckon(example: dict[str, Any]) -> Totals:
    """The example's lines at their stated net, its document-level charges and allowances as lines of their own."""
    amounts = [(line["net"], line) for line in example["lines"]]
    amounts += [(change["amount"], change) for change in example["document"]]
    lines = [Line(Decimal(1), Decimal(amount) * 100, key_of(row)) for amount, row in amounts]
    prepaid = int(Decimal(example["prepaid"] or 0) * 100)
    return total(lines, prices_include_tax=False, round_per_line=False, prepaid_minor=prepaid)


def minor(text: str | None) -> int:
    """Whole minor units; the examples have no finer sums."""
    whole = Decimal(text or 0) * 100
    assert whole == int(whole)
    return int(whole)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example["id"].rsplit("/", 1)[1])
def test_net_tax_gross_and_due_are_the_published_ones(example: dict[str, Any]) -> None:
    totals = reckon(example)
    assert (totals.net_minor, totals.tax_minor, totals.gross_minor) == tuple(
        map(minor, (example["net"], example["tax"], example["gross"]))
    )
    assert totals.due_minor == minor(example["payable"]) - minor(example["rounding"])


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example["id"].rsplit("/", 1)[1])
def test_tax_by_category_and_rate_is_the_published_one(example: dict[str, Any]) -> None:
    ours = {(tax.tax.category, tax.tax.rate_bp): (tax.taxable_minor, tax.tax_minor) for tax in reckon(example).taxes}
    published = {
        (row["cat"], int(Decimal(row["rate"] or 0) * 100)): (minor(row["taxable"]), minor(row["tax"]))
        for row in example["breakdown"]
    }
    assert ours == published


@pytest.mark.parametrize("example", CONSISTENT, ids=lambda example: example["id"].rsplit("/", 1)[1])
def test_a_lines_net_is_quantity_times_price_with_its_changes(example: dict[str, Any]) -> None:
    for line in example["lines"]:
        each = Decimal(line["price"]) * 100 / Decimal(line["base_qty"] or 1)
        amount = Line(Decimal(line["qty"]), each, key_of(line)).amount_minor
        assert amount + sum(minor(change) for change in line["changes"]) == minor(line["net"])
