"""`ask totals` against published example invoices of EN 16931. Each names its source in data/en16931_example_invoices.json."""

import json
from decimal import Decimal
from typing import Any

import pytest

from shop.asking.door import answer
from tests.outside.facts import DATA

EXAMPLES: list[dict[str, Any]] = json.loads((DATA / "en16931_example_invoices.json").read_text(encoding="utf-8"))


def taxed(row: dict[str, Any]) -> dict[str, str]:
    return {"tax_category": row["cat"] or "O", "tax_percent": row["rate"] or "0"}


def question(example: dict[str, Any]) -> dict[str, Any]:
    """Each line at its stated net; allowances and charges of the document as such."""
    changes = [{"amount": str(abs(Decimal(row["amount"]))), **taxed(row)} for row in example["document"]]
    signs = [Decimal(row["amount"]) < 0 for row in example["document"]]
    return {
        "do": "totals",
        "currency": "EUR",
        "prices_include_tax": False,
        "rounding": "rate",
        "lines": [{"quantity": "1", "unit_price": line["net"], **taxed(line)} for line in example["lines"]],
        "allowances": [change for change, less in zip(changes, signs, strict=True) if less],
        "charges": [change for change, less in zip(changes, signs, strict=True) if not less],
        "prepaid": example["prepaid"] or "0",
    }


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example["id"].rsplit("/", 1)[1])
def test_the_published_totals_come_out(example: dict[str, Any]) -> None:
    given = answer(json.dumps(question(example)).encode())
    assert given["ok"], given
    found = given["result"]
    for ours, theirs in (("net", "net"), ("tax_total", "tax"), ("gross", "gross")):
        assert Decimal(found[ours]) == Decimal(example[theirs] or 0), ours
    assert Decimal(found["due"]) == Decimal(example["payable"] or 0) - Decimal(example["rounding"] or 0)
    assert [Decimal(net) for net in found["lines"]] == [Decimal(line["net"]) for line in example["lines"]]
    by_rate = {
        (row["tax_category"], Decimal(row["tax_percent"])): (Decimal(row["taxable"]), Decimal(row["tax"])) for row in found["tax"]
    }
    assert by_rate == {
        (row["cat"] or "O", Decimal(row["rate"] or 0)): (Decimal(row["taxable"]), Decimal(row["tax"]))
        for row in example["breakdown"]
    }
