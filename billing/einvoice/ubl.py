"""Tells an `EInvoice` in UBL 2.1: an Invoice or a CreditNote document (OASIS UBL 2.1; syntax binding CEN/TS 16931-3-2)."""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from lxml import etree
from lxml.builder import ElementMaker

from billing.einvoice.terms import EInvoice, Item, Rate, RateSum, Trader, plain, written

SPACE = "urn:oasis:names:specification:ubl:schema:xsd:"
CAC, CBC = f"{SPACE}CommonAggregateComponents-2", f"{SPACE}CommonBasicComponents-2"
INVOICE, CREDIT_NOTE = f"{SPACE}Invoice-2", f"{SPACE}CreditNote-2"
EN_16931 = "urn:cen.eu:en16931:2017"
COMMERCIAL_INVOICE, CREDIT = "380", "381"
CREDIT_TRANSFER = "30"
AGG, BASIC = ElementMaker(namespace=CAC), ElementMaker(namespace=CBC)


def _basic(name: str, text: str, **attributes: str) -> Any:
    return BASIC(name, written(text), **attributes)


def _some(name: str, text: str) -> list[Any]:
    return [_basic(name, text)] if text else []


def _group(name: str, *children: Any) -> Any:
    return AGG(name, *children)


def _money(name: str, amount: Decimal, told: EInvoice) -> Any:
    return _basic(name, plain(amount), currencyID=told.currency)


def write(told: EInvoice) -> bytes:
    """The XML document, UTF-8."""
    name, space = ("CreditNote", CREDIT_NOTE) if told.is_credit else ("Invoice", INVOICE)
    root = ElementMaker(namespace=space, nsmap={None: space, "cac": CAC, "cbc": CBC})(
        name,
        *_head(told),
        _group("AccountingSupplierParty", _seller(told)),
        _group("AccountingCustomerParty", _buyer(told.buyer)),
        *_delivery(told),
        *_payment(told),
        _tax_total(told),
        _totals(told),
        *(_line(item, told) for item in told.items),
    )
    return bytes(etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True))


def _head(told: EInvoice) -> list[Any]:
    due = [] if told.is_credit or told.due_on is None else [_basic("DueDate", told.due_on.isoformat())]
    kind = ("CreditNoteTypeCode", CREDIT) if told.is_credit else ("InvoiceTypeCode", COMMERCIAL_INVOICE)
    return [
        _basic("CustomizationID", EN_16931),  # BT-24
        _basic("ID", told.number),  # BT-1
        _basic("IssueDate", told.issued_on.isoformat()),  # BT-2
        *due,  # BT-9
        _basic(*kind),  # BT-3
        *(_basic("Note", note) for note in told.notes),  # BT-22
        _basic("DocumentCurrencyCode", told.currency),  # BT-5
        *_some("BuyerReference", told.buyer_reference),  # BT-10
        *_preceding(told),
    ]


def _preceding(told: EInvoice) -> list[Any]:
    """BG-3, the invoice that a credit note takes back."""
    if told.credits is None:
        return []
    number, day = told.credits
    reference = _group("InvoiceDocumentReference", _basic("ID", number), _basic("IssueDate", day.isoformat()))
    return [_group("BillingReference", reference)]


def _address(trader: Trader) -> Any:
    """Lines as they were typed (BT-35, BT-36, BT-162): nobody can tell a town in them for certain, so none is claimed."""
    names = ("StreetName", "AdditionalStreetName")
    lines = [_basic(name, line) for name, line in zip(names, trader.address, strict=False)]
    rest = ", ".join(trader.address[len(names) :])
    more = [_group("AddressLine", _basic("Line", rest))] if rest else []
    return _group("PostalAddress", *lines, *more, _group("Country", _basic("IdentificationCode", trader.country)))


def _tax_scheme(number: str, scheme: str) -> list[Any]:
    if not number:
        return []
    return [_group("PartyTaxScheme", _basic("CompanyID", number), _group("TaxScheme", _basic("ID", scheme)))]


def _identifier(trader: Trader) -> list[Any]:
    return [_group("PartyIdentification", _basic("ID", trader.identifier))] if trader.identifier else []


def _legal(trader: Trader) -> Any:
    return _group("PartyLegalEntity", _basic("RegistrationName", trader.name), *_some("CompanyID", trader.registration))


def _seller(told: EInvoice) -> Any:
    seller = told.seller
    contact = [*_some("Telephone", seller.phone), *_some("ElectronicMail", seller.email)]
    return _group(
        "Party",
        *_identifier(seller),  # BT-29
        _address(seller),
        *_tax_scheme(seller.vat_id, "VAT"),  # BT-31
        *_tax_scheme(seller.tax_number, "TAX"),  # BT-32
        _legal(seller),  # BT-27, BT-30
        *([_group("Contact", *contact)] if contact else []),
    )


def _buyer(buyer: Trader) -> Any:
    return _group("Party", *_identifier(buyer), _address(buyer), *_tax_scheme(buyer.vat_id, "VAT"), _legal(buyer))


def _delivery(told: EInvoice) -> list[Any]:
    day = [_basic("ActualDeliveryDate", told.delivered_on.isoformat())] if told.delivered_on else []  # BT-72
    name = _some("Name", told.delivered_to)
    party = [_group("DeliveryParty", _group("PartyName", *name))] if name else []  # BT-70
    return [_group("Delivery", *day, *party)] if day or party else []


def _payment(told: EInvoice) -> list[Any]:
    """BG-16 where there is an account to pay into, and BT-20."""
    means: list[Any] = []
    if told.iban:
        account = _group("PayeeFinancialAccount", _basic("ID", told.iban))
        code = _basic("PaymentMeansCode", CREDIT_TRANSFER)
        means = [_group("PaymentMeans", code, _basic("PaymentID", told.number), account)]
    terms = [_group("PaymentTerms", _basic("Note", told.payment_terms))] if told.payment_terms else []
    return [*means, *terms]


def _category(name: str, rate: Rate, reason: str = "") -> Any:
    percent = [] if rate.percent is None else [_basic("Percent", plain(rate.percent))]
    return _group(
        name,
        _basic("ID", rate.category),
        *percent,
        *_some("TaxExemptionReason", reason),
        _group("TaxScheme", _basic("ID", "VAT")),
    )


def _tax_total(told: EInvoice) -> Any:
    return _group("TaxTotal", _money("TaxAmount", told.tax, told), *(_subtotal(row, told) for row in told.taxes))


def _subtotal(row: RateSum, told: EInvoice) -> Any:
    return _group(
        "TaxSubtotal",
        _money("TaxableAmount", row.taxable, told),
        _money("TaxAmount", row.tax, told),
        _category("TaxCategory", row.rate, row.exempt_reason),
    )


def _totals(told: EInvoice) -> Any:
    prepaid = [_money("PrepaidAmount", told.prepaid, told)] if told.prepaid else []
    return _group(
        "LegalMonetaryTotal",
        _money("LineExtensionAmount", told.net, told),  # BT-106
        _money("TaxExclusiveAmount", told.net, told),  # BT-109
        _money("TaxInclusiveAmount", told.gross, told),  # BT-112
        *prepaid,  # BT-113
        _money("PayableAmount", told.due, told),  # BT-115
    )


def _properties(facts: Iterable[tuple[str, str]]) -> Sequence[Any]:
    return [_group("AdditionalItemProperty", _basic("Name", name), _basic("Value", value)) for name, value in facts]


def _line(item: Item, told: EInvoice) -> Any:
    name, count = ("CreditNoteLine", "CreditedQuantity") if told.is_credit else ("InvoiceLine", "InvoicedQuantity")
    return _group(
        name,
        _basic("ID", item.order),
        *_some("Note", item.note),
        _basic(count, plain(item.quantity), unitCode=item.unit),
        _money("LineExtensionAmount", item.net, told),
        _group("Item", _basic("Name", item.name), _category("ClassifiedTaxCategory", item.rate), *_properties(item.facts)),
        _group("Price", _money("PriceAmount", item.price, told)),
    )
