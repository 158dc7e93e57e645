"""Bills in every tax category: what is frozen, what is printed, and that no category but the standard one bears a rate.

Codes: UNTDID 5305, as EN 16931 uses them (S standard, Z zero-rated, E exempt, O outside).
"""

from typing import Any

import pytest

from billing.documents.invoice import draw
from billing.models import Invoice, InvoiceLine
from billing.papers import invoice_paper
from billing.queries import frozen_totals
from jobs.models import Stage
from shop.acts import Refused
from shop.letterhead_of import letterhead
from shop.profile import change_profile
from shop.tax_terms import labour_tax, parts_tax, tax_of
from shop.totals import TaxKey
from tests.builders import a_fit, a_job, a_profile, an_invoice, some_work
from tests.paper.papers import text_of

pytestmark = pytest.mark.django_db
REASON = "Small trader under § 19 UStG: no tax is charged."


def a_bill(**terms: Any) -> Invoice:
    a_profile(hour_rate_minor=6000, **terms)
    job = a_job(Stage.REPAIRING, labour_minor=30_000)
    a_fit(job)
    some_work(job, 60)
    return an_invoice(job)


def categories(invoice: Invoice) -> dict[str, tuple[str, int]]:
    lines = InvoiceLine.objects.filter(invoice=invoice, charged=True)
    return {line.kind: (line.tax_category, line.tax_bp) for line in lines}


def paper(invoice: Invoice) -> str:
    return text_of(draw(invoice_paper(invoice, letterhead())))


def test_sales_tax_on_parts_leaves_labour_outside() -> None:
    bill = a_bill(tax_scheme="sales", parts_tax_bp=725, labour_tax_category="O")
    assert categories(bill) == {"part": ("S", 725), "labour": ("O", 0)}
    assert (bill.net_minor, bill.tax_minor) == (6060, 4)
    text = paper(bill)
    assert "Sales tax 7.25 % on £0.60" in text
    assert "Outside the tax on £60.00" in text


def test_a_small_trader_charges_no_tax_and_says_why() -> None:
    bill = a_bill(parts_tax_category="E", labour_tax_category="E", tax_exempt_reason=REASON, tax_id="")
    assert categories(bill) == {"part": ("E", 0), "labour": ("E", 0)}
    assert (bill.tax_minor, bill.tax_exempt_reason) == (0, REASON)
    text = paper(bill)
    assert "Exempt from tax on £60.60" in text
    assert REASON in text.replace("\n", " ")


def test_without_any_tax_nothing_is_said_of_it() -> None:
    bill = a_bill(tax_scheme="none")
    assert categories(bill) == {"part": ("O", 0), "labour": ("O", 0)}
    assert (bill.tax_scheme, bill.tax_minor) == ("none", 0)
    assert "Outside the tax" not in paper(bill)


def test_an_issued_bill_keeps_its_categories_whatever_the_terms_are_later() -> None:
    bill = a_bill(parts_tax_bp=2000, labour_tax_category="Z")
    before = frozen_totals(bill, list(bill.lines.all()))  # type: ignore[attr-defined]
    a_profile(parts_tax_category="E", labour_tax_category="E", tax_exempt_reason=REASON, tax_scheme="vat")
    again = Invoice.objects.get(pk=bill.pk)
    assert frozen_totals(again, list(again.lines.all())) == before  # type: ignore[attr-defined]
    assert {tax.tax for tax in before.taxes} == {TaxKey("S", 2000), TaxKey("Z", 0)}
    assert again.tax_exempt_reason == ""
    assert "VAT 20 %" in paper(again)


@pytest.mark.parametrize(
    ("currency", "rate_minor", "rate_bp", "sums"),
    [
        ("JPY", 6001, 1000, (6001, 600)),  # no decimals: a tenth of 6001 yen is 600.1
        ("KWD", 6_001, 500, (6_001, 300)),  # three decimals: 5 % of 6.001 dinar is 0.30005
    ],
)
def test_currencies_without_and_with_three_decimals_are_exact(
    currency: str, rate_minor: int, rate_bp: int, sums: tuple[int, int]
) -> None:
    a_profile(currency=currency, hour_rate_minor=rate_minor, labour_tax_bp=rate_bp, minute_step=60)
    job = a_job(Stage.REPAIRING, labour_minor=30_000, with_fit=False)
    some_work(job, 60)
    bill = an_invoice(job)
    assert (bill.net_minor, bill.tax_minor) == sums


def test_prices_that_hold_the_tax_are_taken_apart_by_category() -> None:
    bill = a_bill(prices_include_tax=True, parts_tax_bp=2000, labour_tax_bp=2000, parts_tax_category="S")
    assert (bill.gross_minor, bill.net_minor, bill.tax_minor) == (6060, 5050, 1010)


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"parts_tax_category": "E"}, "tax_exempt_reason", "Say why no tax is charged"),
        ({"labour_tax_category": "O"}, "tax_exempt_reason", "Say why no tax is charged"),
        ({"labour_tax_category": "Z", "labour_tax_bp": 500}, "labour_tax_bp", "which bears no rate"),
        ({"tax_scheme": "none", "parts_tax_bp": 500}, "parts_tax_bp", "With no tax, the tax on parts is 0"),
    ],
)
def test_terms_that_no_bill_can_be_reckoned_by_are_refused(change: dict[str, Any], field: str, words: str) -> None:
    terms = a_profile()
    with pytest.raises(Refused) as refused:
        change_profile(change, seen=terms.version)
    assert refused.value.field == field
    assert words in refused.value.message


def test_only_the_standard_category_bears_a_rate() -> None:
    assert tax_of("vat", "S", 2000) == TaxKey("S", 2000)
    assert tax_of("vat", "S", 0) == TaxKey("Z", 0)
    assert tax_of("vat", "E", 2000) == TaxKey("E", 0)
    assert tax_of("none", "S", 2000) == TaxKey("O", 0)
    terms = a_profile(parts_tax_bp=700, labour_tax_category="O")
    assert (parts_tax(terms), labour_tax(terms)) == (TaxKey("S", 700), TaxKey("O", 0))
