"""The electronic form of an invoice: its page, its files, what is said where there is none."""

from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from lxml import etree
from pypdf import PdfReader

from billing.einvoice import checking, rules
from billing.einvoice.checking import Finding
from billing.einvoice.rules import RulesMissing
from billing.einvoice.terms import NotTold
from billing.einvoice_of import einvoice_of
from billing.einvoice_of.missing import Rows
from billing.models import Invoice, InvoiceLine
from billing.services import credit
from shop.clock import now
from shop.models import Profile, Staff
from tests.builders import a_job, a_profile, an_invoice

pytestmark = pytest.mark.django_db
FILES = ("einvoice_ubl", "einvoice_cii", "einvoice_pdf")
TAXED = {"parts_tax_bp": 2000, "labour_tax_bp": 2000, "tax_id": "GB 123 4567 89", "address": "4 Cable Street", "country": "GB"}


def issued(owner: Staff, **terms: object) -> Invoice:
    a_profile(**{**TAXED, **terms})
    return an_invoice(a_job("ready", person=owner), person=owner)


def look(client: Client, name: str, paper: Invoice, query: str = "") -> str:
    answer = client.get(reverse(f"billing:{name}", args=[paper.pk]) + query)
    assert answer.status_code == 200, answer.content.decode()
    return answer.content.decode()


def test_the_page_offers_three_files_and_checks_them_on_demand(owner_client: Client, owner: Staff) -> None:
    invoice = issued(owner, iban="GB33BUKB20201555555555")
    page = look(owner_client, "einvoice", invoice)
    assert all(reverse(f"billing:{name}", args=[invoice.pk]) in page for name in FILES)
    assert "GB123456789" in page
    assert "findings" not in page
    checked = look(owner_client, "einvoice", invoice, "?check=rules")
    assert checked.count("checked against the schema and the EN 16931 rules, 0 findings.") == 2


def test_a_credit_note_is_told_too_and_names_its_invoice(owner_client: Client, owner: Staff) -> None:
    invoice = issued(owner)
    note = credit(invoice, "Charged twice.", person=owner, at=now())
    assert look(owner_client, "einvoice", note, "?check=rules").count("0 findings.") == 2
    ubl = look(owner_client, "einvoice_ubl", note)
    assert "<CreditNote " in ubl
    assert f"<cbc:ID>{invoice.number}</cbc:ID>" in ubl
    assert ">381<" in look(owner_client, "einvoice_cii", note)


def test_files_are_named_after_the_paper(owner_client: Client, owner: Staff) -> None:
    invoice = issued(owner)
    answer = owner_client.get(reverse("billing:einvoice_ubl", args=[invoice.pk]))
    assert answer["Content-Type"] == "application/xml"
    assert answer["Content-Disposition"] == f'attachment; filename="{invoice.number}-ubl.xml"'
    assert answer["Cache-Control"] == "private, no-store"


def test_the_pdf_holds_the_same_data(owner_client: Client, owner: Staff) -> None:
    invoice = issued(owner)
    pdf = owner_client.get(reverse("billing:einvoice_pdf", args=[invoice.pk])).content
    plain = owner_client.get(reverse("billing:invoice_pdf", args=[invoice.pk])).content
    inside = PdfReader(BytesIO(pdf)).attachments["factur-x.xml"][0]
    data = owner_client.get(reverse("billing:einvoice_cii", args=[invoice.pk])).content
    assert etree.tostring(etree.fromstring(inside), method="c14n") == etree.tostring(etree.fromstring(data), method="c14n")
    pages = [[page.extract_text() for page in PdfReader(BytesIO(one)).pages] for one in (pdf, plain)]
    assert pages[0] == pages[1]


def test_the_files_say_what_was_frozen_whatever_the_shop_is_today(owner_client: Client, owner: Staff) -> None:
    invoice = issued(owner)
    before = [look(owner_client, name, invoice) for name in FILES[:2]]
    Profile.objects.update(name="Moved", tax_id="", country="US", iban="X", tax_exempt_reason="None", currency="KWD")
    assert [look(owner_client, name, invoice) for name in FILES[:2]] == before


def with_seller(invoice: Invoice, **changed: str | None) -> Invoice:
    """The same invoice as if it had been issued under another letterhead; what is None wasn't kept then."""
    seller = {name: value for name, value in {**invoice.seller, **changed}.items() if value is not None}
    copied = {one.name: getattr(invoice, one.name) for one in Invoice._meta.fields}
    facts = {**copied, "id": None, "number": "R-2025-0001", "year": 2025, "seller": seller}
    other = Invoice.objects.create(**facts)
    other.lines.create(
        order=1,
        kind="flat",
        text="Work",
        unit_minor=invoice.net_minor,
        amount_minor=invoice.net_minor,
        net_minor=invoice.net_minor,
        tax_bp=2000 if invoice.tax_minor else 0,
    )
    return other


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"tax_id": ""}, "VAT number, with its country&#x27;s letters in front (such as DE123456789), isn&#x27;t on it"),
        ({"tax_id": "123 4567 89"}, "VAT number"),
        ({"country": "ZZ"}, "The shop&#x27;s country (two letters, such as DE) isn&#x27;t on it."),
        ({"country": None, "iban": None}, "The shop&#x27;s country (two letters, such as DE) isn&#x27;t on it."),
        ({"shop_name": "\u202e"}, "The shop&#x27;s name isn&#x27;t on it."),
    ],
)
def test_what_is_missing_is_said_with_where_to_mend_it(
    owner_client: Client, owner: Staff, changed: dict[str, str | None], said: str
) -> None:
    invoice = with_seller(issued(owner), **changed)
    page = look(owner_client, "einvoice", invoice)
    assert said in page
    assert "Write it into the shop&#x27;s terms (Owner, The shop and its terms); the next invoice will carry it" in page
    assert_refused(owner_client, invoice)


def assert_refused(client: Client, paper: Invoice) -> None:
    for name in FILES:
        refused = client.get(reverse(f"billing:{name}", args=[paper.pk]))
        assert refused.status_code == 409
        assert "can&#x27;t be told as an electronic invoice." in refused.content.decode()


def test_where_nothing_is_taxed_some_number_is_still_wanted(owner_client: Client, owner: Staff) -> None:
    invoice = issued(owner, parts_tax_bp=0, labour_tax_bp=0)
    assert "The shop&#x27;s tax number isn&#x27;t on it." in look(owner_client, "einvoice", with_seller(invoice, tax_id=""))


def test_a_currency_with_three_decimals_cant_be_told(owner_client: Client, owner: Staff) -> None:
    invoice = issued(owner, currency="KWD")
    assert "EN 16931 has two decimals, and KWD has 3. Give the printed paper." in look(owner_client, "einvoice", invoice)
    assert_refused(owner_client, invoice)


def frozen(invoice: Invoice, **changed: str) -> Invoice:
    """The invoice in memory with other frozen columns."""
    for name, value in changed.items():
        setattr(invoice, name, value)
    return invoice


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"tax_scheme": "sales"}, "EN 16931 knows value added tax only"),
        ({"tax_scheme": "none"}, "EN 16931 knows value added tax only"),
        ({"buyer_country": "XX"}, "customer's country isn't a country's two letters"),
        ({"buyer_name": " "}, "customer's name isn't on it"),
    ],
)
def test_what_cant_be_told_has_its_reason(owner: Staff, changed: dict[str, str], said: str) -> None:
    with pytest.raises(NotTold, match=said):
        einvoice_of(frozen(issued(owner), **changed))


@pytest.mark.parametrize(
    ("categories", "reason", "said"),
    [
        (("E",), "", "It charges no tax and doesn't say why."),
        (("O",), "", "It charges no tax and doesn't say why."),
        (("O", "E"), "Small business.", "outside the tax and others are not"),
        (("E",), "Small business.", ""),
        (("O",), "Small business.", ""),
    ],
)
def test_what_charges_no_tax_says_why(owner: Staff, categories: tuple[str, ...], reason: str, said: str) -> None:
    invoice = frozen(issued(owner), tax_exempt_reason=reason)
    lines = [
        InvoiceLine(kind="flat", text="Work", net_minor=0, unit_minor=0, amount_minor=0, tax_category=one) for one in categories
    ]
    rows = Rows(invoice, lines)
    if said:
        with pytest.raises(NotTold, match=said):
            rows.refuse()
    else:
        rows.refuse()


def test_rows_that_contradict_their_sums_are_never_sent_out(owner_client: Client, owner: Staff) -> None:
    invoice = with_seller(issued(owner))
    invoice.lines.create(order=2, kind="flat", text="Slipped in", unit_minor=100, amount_minor=100, net_minor=100, tax_bp=2000)
    assert "have the books verified" in look(owner_client, "einvoice", invoice)
    assert_refused(owner_client, invoice)


def test_a_tax_that_was_rounded_by_lines_stands_and_is_told(owner_client: Client, owner: Staff) -> None:
    """Three lines of 0.03 at 20 %: 0.006 each, so 0.01 a line and 0.03 in all, where 20 % of 0.09 is 0.02."""
    bill = with_seller(issued(owner))
    facts = {one.name: getattr(bill, one.name) for one in Invoice._meta.fields}
    sums = {"net_minor": 9, "tax_minor": 3, "gross_minor": 12, "prepaid_minor": 0, "tax_rounding": "line"}
    small = Invoice.objects.create(**{**facts, "id": None, "number": "R-2024-0001", "year": 2024, **sums})
    for order in (1, 2, 3):
        small.lines.create(order=order, kind="flat", text="Bit", unit_minor=3, amount_minor=3, net_minor=3, tax_bp=2000)
    page = look(owner_client, "einvoice", small, "?check=rules")
    assert "The tax at 20 % is 0.01 GBP away from 20 % of 0.09" in page
    assert page.count("0 findings.") == 2


def test_findings_are_told_by_rule(owner_client: Client, owner: Staff, monkeypatch: pytest.MonkeyPatch) -> None:
    invoice = issued(owner)
    found = [(Finding("BR-CO-10", "fatal", "Sum <b> of lines"),), (Finding("BR-99", "warning", "Odd"),)]
    monkeypatch.setattr("billing.views.einvoices.check_once", lambda files: found)
    page = look(owner_client, "einvoice", invoice, "?check=rules")
    assert "BR-CO-10" in page
    assert "Sum &lt;b&gt; of lines" in page
    assert page.count("1 finding.") == 2


def test_rules_that_are_missing_are_never_silence(owner_client: Client, owner: Staff, monkeypatch: pytest.MonkeyPatch) -> None:
    invoice = issued(owner)

    def missing(name: str, where: object = None) -> None:
        raise RulesMissing("The rule file is not there, so nothing was checked.")

    monkeypatch.setattr(checking, "rule_file", missing)
    answer = owner_client.get(reverse("billing:einvoice", args=[invoice.pk]) + "?check=rules")
    assert answer.status_code == 503
    assert "Not checked" in answer.content.decode()
    assert "0 findings" not in answer.content.decode()
    assert rules.RULES


@pytest.mark.parametrize("name", ["einvoice", *FILES])
def test_a_stranger_is_sent_to_sign_in(stranger_client: Client, owner: Staff, name: str) -> None:
    answer = stranger_client.get(reverse(f"billing:{name}", args=[issued(owner).pk]))
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("login"))


@pytest.mark.parametrize("name", ["einvoice", *FILES])
def test_a_paper_that_is_none_is_not_found(owner_client: Client, owner: Staff, name: str) -> None:
    assert owner_client.get(reverse(f"billing:{name}", args=[4711])).status_code == 404


@pytest.mark.parametrize("name", ["einvoice_ubl", "einvoice_cii"])
def test_what_no_xml_can_hold_has_a_replacement_sign(owner_client: Client, owner: Staff, name: str) -> None:
    """XML 1.0, fifth edition, 2.2 (Char): U+FFFE and U+FFFF are no characters of a document."""
    assert "Wireless \ufffd Works" in look(owner_client, name, issued(owner, name="Wireless \ufffe Works"))
