"""`ask totals` against published invoices of EN 16931, figures changed in them, and every currency of ISO 4217.

Sources: each row of the data files names its own.
"""

import json
from decimal import Decimal
from typing import Any

import pytest

from shop.asking.door import answer
from tests.outside.facts import DATA, agree, facts

EXAMPLES: list[dict[str, Any]] = json.loads((DATA / "en16931_example_invoices.json").read_text(encoding="utf-8"))
MUTATED = facts("en16931_mutated_figures.csv")
PARTS = facts("en16931_mutated_invoices.csv")
CURRENCIES = facts("iso4217_minor_units.csv")
ROUNDING = facts("tax_rounding.csv")
# A net finer than a penny can't stand on a bill.
IN_PENCE = [row for row in ROUNDING if not Decimal(row["net"]) * 100 % 1]
Asked = dict[str, Any]


def ask(**fields: Any) -> Asked:
    given = answer(json.dumps({"id": 1, "do": "totals", **fields}).encode())
    assert given["ok"], given["error"]
    return given["result"]  # type: ignore[no-any-return]


def tax_of(row: dict[str, Any]) -> dict[str, str]:
    return {"tax_category": row["cat"] or "O", "tax_percent": row["rate"] or "0"}


def line_of(row: dict[str, Any], as_priced: bool) -> dict[str, str]:
    """An invoice that contradicts itself (its notes say how) is asked by the net of each line, not by price and quantity."""
    if not as_priced or row["changes"] or row["base_qty"] not in (None, "1"):
        return {"quantity": "1", "unit_price": row["net"], **tax_of(row)}
    return {"quantity": row["qty"], "unit_price": row["price"], **tax_of(row)}


def ask_example(example: dict[str, Any]) -> Asked:
    changes = {name: [] for name in ("allowances", "charges")}  # type: dict[str, list[dict[str, str]]]
    for row in example["document"]:
        amount = Decimal(row["amount"])
        changes["allowances" if amount < 0 else "charges"].append({"amount": str(abs(amount)), **tax_of(row)})
    return ask(
        currency=example["currency"],
        prices_include_tax=False,
        lines=[line_of(row, not example["notes"]) for row in example["lines"]],
        prepaid=example["prepaid"] or "0",
        rounding="rate",
        **changes,
    )


def same(ours: str, published: str | None) -> bool:
    return Decimal(ours) == Decimal(published or 0)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example["id"].rsplit("/", 1)[1])
def test_every_sum_of_a_published_invoice_is_answered(example: dict[str, Any]) -> None:
    asked = ask_example(example)
    due = Decimal(example["payable"]) - Decimal(example["rounding"] or 0)
    for ours, published in (
        ("net", example["net"]),
        ("tax_total", example["tax"]),
        ("gross", example["gross"]),
        ("due", str(due)),
    ):
        agree(example, same(asked[ours], published), f"{ours} is {asked[ours]}, published {published}")
    agree(
        example, [Decimal(net) for net in asked["lines"]] == [Decimal(row["net"]) for row in example["lines"]], "net of the lines"
    )
    found = {(one["tax_category"], Decimal(one["tax_percent"])): (one["taxable"], one["tax"]) for one in asked["tax"]}
    for row in example["breakdown"]:
        taxable, tax = found[(row["cat"], Decimal(row["rate"] or 0))]
        agree(example, same(taxable, row["taxable"]) and same(tax, row["tax"]), f"tax at {row['cat']} {row['rate']}")


def ask_parts(invoice: str) -> Asked:
    """An invoice of the mutations from price and quantity; what changes a line is taken off it as a discount in percent."""
    rows = [row for row in PARTS if row["invoice"] == invoice]

    def line(row: dict[str, str]) -> dict[str, str]:
        price = Decimal(row["price"]) / Decimal(row["base_quantity"] or 1)
        off = -Decimal(row["changes"] or 0) / (price * Decimal(row["quantity"])) * 100
        exact = Decimal(row["quantity"]) * price + Decimal(row["changes"] or 0)
        usual = {"quantity": row["quantity"], "unit_price": str(price), "discount_percent": f"{off:.12f}"}
        assert Decimal(row["net"]) == exact
        return {**usual, "tax_category": row["category"], "tax_percent": row["percent"]}

    def changes(kind: str) -> list[dict[str, str]]:
        found = [row for row in rows if row["kind"] == kind]
        return [{"amount": row["net"], "tax_category": row["category"], "tax_percent": row["percent"]} for row in found]

    return ask(
        currency="EUR",
        prices_include_tax=False,
        lines=[line(row) for row in rows if row["kind"] == "line"],
        allowances=changes("allowance"),
        charges=changes("charge"),
        prepaid=next((row["net"] for row in rows if row["kind"] == "prepaid"), "0"),
    )


def figure_of(row: dict[str, str], asked: Asked) -> Decimal:
    """The figure that our own arithmetic has in the place of a published one. A price has its line's net to answer for."""
    first = asked["tax"][0]
    return {
        "lines in all": sum((Decimal(net) for net in asked["lines"]), Decimal(0)),
        "gross": Decimal(asked["gross"]),
        "due": Decimal(asked["due"]),
        "tax in all": Decimal(asked["tax_total"]),
        "tax of the first rate": Decimal(first["tax"]),
        "taxable of the first rate": Decimal(first["taxable"]),
        "net of the first line": Decimal(asked["lines"][0]),
        "price of the first line": Decimal(asked["lines"][0]) / _first_quantity(row["invoice"]),
    }[row["figure"]]


def _first_quantity(invoice: str) -> Decimal:
    return next(Decimal(row["quantity"]) for row in PARTS if row["invoice"] == invoice)


@pytest.mark.parametrize("row", MUTATED, ids=lambda row: f"{row['invoice']}-{row['figure']}{row['changed_by']}")
def test_our_own_arithmetic_notices_every_change_also_those_the_official_rules_let_pass(row: dict[str, str]) -> None:
    ours = figure_of(row, ask_parts(row["invoice"]))
    agree(row, ours == Decimal(row["published"]), f"{row['figure']} is {ours}")
    agree(row, ours != Decimal(row["published"]) + Decimal(row["changed_by"]), f"{row['figure']} changed by {row['changed_by']}")


def test_the_official_rules_let_some_of_them_pass() -> None:
    assert sum(not row["official_rules"] for row in MUTATED) == 3


@pytest.mark.parametrize("row", CURRENCIES, ids=lambda row: row["code"])
def test_every_currency_is_reckoned_in_its_own_smallest_unit(row: dict[str, str]) -> None:
    digits = int(row["exponent"])
    one = Decimal(1).scaleb(-digits)
    line = {"quantity": "3", "unit_price": f"{one:f}", "tax_category": "S", "tax_percent": "50"}
    asked = ask(currency=row["code"], prices_include_tax=False, lines=[line], rounding="rate")
    # Three smallest units at 50 %: one and a half, which goes away from zero.
    agree(row, (Decimal(asked["net"]), Decimal(asked["tax_total"])) == (3 * one, 2 * one), f"{row['code']}: {asked}")
    agree(row, len(asked["net"].partition(".")[2]) == digits, f"{row['code']} is written as {asked['net']}")


@pytest.mark.parametrize("row", IN_PENCE, ids=lambda row: f"{row['net']}-{row['rate_percent']}")
@pytest.mark.parametrize("rounding", ["line", "rate"])
def test_tax_on_one_line_is_rounded_as_the_guidance_has_it(row: dict[str, str], rounding: str) -> None:
    line = {"quantity": "1", "unit_price": row["net"], "tax_category": "S", "tax_percent": row["rate_percent"]}
    asked = ask(currency="GBP", prices_include_tax=False, lines=[line], rounding=rounding)
    agree(row, same(asked["tax_total"], row["half_up"]), f"tax on {row['net']} is {asked['tax_total']}")


@pytest.mark.parametrize("row", ROUNDING[:2], ids=lambda row: row["net"])
def test_per_line_and_per_rate_differ_by_what_the_halves_make(row: dict[str, str]) -> None:
    """Ten lines of the published net: each rounded, or once; both from the published exact tax."""
    line = {"quantity": "1", "unit_price": row["net"], "tax_category": "S", "tax_percent": row["rate_percent"]}
    per_line = ask(currency="GBP", prices_include_tax=False, lines=[line] * 10, rounding="line")
    per_rate = ask(currency="GBP", prices_include_tax=False, lines=[line] * 10, rounding="rate")
    assert Decimal(per_line["tax_total"]) == Decimal(row["half_up"]) * 10
    assert Decimal(per_rate["tax_total"]) == (Decimal(row["exact"]) * 10).quantize(Decimal("0.01"))
