"""A valid invoice with one figure changed: the rules that object must be the published ones (data/en16931_mutations.csv).

Where the official rules object to nothing, our own arithmetic does.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from lxml import etree

from billing.einvoice import cii, ubl
from billing.einvoice.checking import Checker
from billing.einvoice.rules import Syntax
from billing.einvoice.sums import differences
from billing.einvoice.terms import EInvoice, Item, Rate, RateSum, Trader
from tests.outside.facts import agree, facts

STANDARD = Rate("S", Decimal("19"))
BASE = EInvoice(
    number="R-2026-0001",
    issued_on=date(2026, 3, 2),
    currency="EUR",
    seller=Trader("Quillfeather Wireless", ("4 Cable Street",), "DE", vat_id="DE123456789"),
    buyer=Trader("Iwona Brzask", ("7 Lane",), "DE"),
    items=(
        Item("1", "0.01 µF 630 V", Decimal(3), "C62", Decimal("3.333"), Decimal("10.00"), STANDARD),
        Item("2", "Repair", Decimal("1.25"), "HUR", Decimal("40.00"), Decimal("50.00"), STANDARD),
    ),
    taxes=(RateSum(STANDARD, Decimal("60.00"), Decimal("11.40")),),
    net=Decimal("60.00"),
    tax=Decimal("11.40"),
    gross=Decimal("71.40"),
    prepaid=Decimal("0.00"),
    due=Decimal("71.40"),
    due_on=date(2026, 3, 16),
    delivered_on=date(2026, 3, 1),
)
NOTE = replace(BASE, number="C-2026-0001", credits=("R-2026-0001", date(2026, 3, 2)), payment_terms="Counts against R-2026-0001.")
TOTALS = "cac:LegalMonetaryTotal/cbc:"
IN_UBL = {
    "total of lines": f"{TOTALS}LineExtensionAmount",
    "total with tax": f"{TOTALS}TaxInclusiveAmount",
    "amount due": f"{TOTALS}PayableAmount",
    "tax in all": "cac:TaxTotal/cbc:TaxAmount",
    "tax at a rate": "cac:TaxTotal/cac:TaxSubtotal/cbc:TaxAmount",
    "taxable at a rate": "cac:TaxTotal/cac:TaxSubtotal/cbc:TaxableAmount",
    "price of a line": "//cac:Price/cbc:PriceAmount",
    "net of a line": "(cac:InvoiceLine | cac:CreditNoteLine)/cbc:LineExtensionAmount",
}
SUMS = "//ram:SpecifiedTradeSettlementHeaderMonetarySummation/ram:"
RATES = "//ram:ApplicableHeaderTradeSettlement/ram:ApplicableTradeTax/ram:"
IN_CII = {
    "total of lines": f"{SUMS}LineTotalAmount",
    "total with tax": f"{SUMS}GrandTotalAmount",
    "amount due": f"{SUMS}DuePayableAmount",
    "tax in all": f"{SUMS}TaxTotalAmount",
    "tax at a rate": f"{RATES}CalculatedAmount",
    "taxable at a rate": f"{RATES}BasisAmount",
    "price of a line": "//ram:NetPriceProductTradePrice/ram:ChargeAmount",
    "net of a line": "//ram:SpecifiedTradeSettlementLineMonetarySummation/ram:LineTotalAmount",
}
SPACES = {"cac": ubl.CAC, "cbc": ubl.CBC, "ram": cii.RAM}
MUTATIONS = facts("en16931_mutations.csv")
# Rules on how one syntax writes a number; the other syntax has its own.
OF_ONE_SYNTAX = ("UBL-", "CII-")
# Measured on Factur-X 1.09.2: its rules take BR-S-08 exactly, and let BR-CO-17 be off by 1.00 itself (UBL's: by less than that).
CII_DIFFERS = {
    ("taxable at a rate", "+0.01"): {"BR-S-08"},
    ("net of a line", "+0.01"): {"BR-S-08"},
    ("tax at a rate", "+1.00"): {"BR-CO-17"},
}


@pytest.fixture(scope="module")
def checker() -> Iterator[Checker]:
    with Checker() as running:
        yield running


def changed(xml: bytes, path: str, by: str) -> bytes:
    root = etree.fromstring(xml)
    node: Any = root.xpath(path, namespaces=SPACES)[0]
    node.text = str(Decimal(node.text) + Decimal(by))
    return bytes(etree.tostring(root))


def rules_that_object(checker: Checker, xml: bytes, syntax: Syntax) -> set[str]:
    return {one.rule for one in checker.check(xml, syntax)}


def named(row: dict[str, str]) -> str:
    return f"{row['changed']} {row['by']}"


@pytest.mark.parametrize(("told", "syntax"), [(BASE, "ubl invoice"), (NOTE, "ubl credit note")], ids=["invoice", "credit note"])
@pytest.mark.parametrize("row", MUTATIONS, ids=named)
def test_the_published_rules_object_to_a_changed_figure(
    checker: Checker, row: dict[str, str], told: EInvoice, syntax: Syntax
) -> None:
    found = rules_that_object(checker, changed(ubl.write(told), IN_UBL[row["changed"]], row["by"]), syntax)
    agree(row, found == set(row["failed_rules"].split()), f"{named(row)}: {sorted(found)}")


@pytest.mark.parametrize("row", MUTATIONS, ids=named)
def test_the_other_syntax_objects_by_the_same_rules(checker: Checker, row: dict[str, str]) -> None:
    found = rules_that_object(checker, changed(cii.write(BASE), IN_CII[row["changed"]], row["by"]), "cii")
    published = {rule for rule in row["failed_rules"].split() if not rule.startswith(OF_ONE_SYNTAX)}
    expected = published ^ CII_DIFFERS.get((row["changed"], row["by"]), set())
    agree(row, {rule for rule in found if not rule.startswith(OF_ONE_SYNTAX)} == expected, f"{named(row)}: {sorted(found)}")


def test_nothing_is_objected_to_before_the_change(checker: Checker) -> None:
    assert rules_that_object(checker, ubl.write(BASE), "ubl invoice") == set()
    assert rules_that_object(checker, ubl.write(NOTE), "ubl credit note") == set()
    assert rules_that_object(checker, cii.write(BASE), "cii") == set()
    assert rules_that_object(checker, cii.write(NOTE), "cii") == set()
    assert differences(BASE) == differences(NOTE) == []


def shifted(row: dict[str, str]) -> EInvoice:
    by, item, rate = Decimal(row["by"]), BASE.items[0], BASE.taxes[0]
    match row["changed"]:
        case "total of lines":
            return replace(BASE, net=BASE.net + by)
        case "total with tax":
            return replace(BASE, gross=BASE.gross + by)
        case "amount due":
            return replace(BASE, due=BASE.due + by)
        case "tax in all":
            return replace(BASE, tax=BASE.tax + by)
        case "tax at a rate":
            return replace(BASE, taxes=(replace(rate, tax=rate.tax + by),))
        case "taxable at a rate":
            return replace(BASE, taxes=(replace(rate, taxable=rate.taxable + by),))
        case "price of a line":
            return replace(BASE, items=(replace(item, price=item.price + by), *BASE.items[1:]))
        case _:
            return replace(BASE, items=(replace(item, net=item.net + by), *BASE.items[1:]))


@pytest.mark.parametrize("row", MUTATIONS, ids=named)
def test_our_own_arithmetic_objects_to_every_one(row: dict[str, str]) -> None:
    assert differences(shifted(row)) != []
