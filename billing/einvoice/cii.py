"""Tells an `EInvoice` in UN/CEFACT's Cross Industry Invoice, as Factur-X's profile EN 16931 has it (CEN/TS 16931-3-3)."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from lxml import etree
from lxml.builder import ElementMaker

from billing.einvoice.terms import EInvoice, Item, Rate, RateSum, Trader, plain, written

SPACE = "urn:un:unece:uncefact:data:standard:"
RSM = f"{SPACE}CrossIndustryInvoice:100"
RAM = f"{SPACE}ReusableAggregateBusinessInformationEntity:100"
UDT, QDT = f"{SPACE}UnqualifiedDataType:100", f"{SPACE}QualifiedDataType:100"
EN_16931 = "urn:cen.eu:en16931:2017"
COMMERCIAL_INVOICE, CREDIT = "380", "381"
CREDIT_TRANSFER = "30"
DAY_FORMAT = "102"  # UNTDID 2379: CCYYMMDD
AGG = ElementMaker(namespace=RAM)
DOC = ElementMaker(namespace=RSM, nsmap={"rsm": RSM, "ram": RAM, "udt": UDT, "qdt": QDT})
PLAIN, QUALIFIED = ElementMaker(namespace=UDT), ElementMaker(namespace=QDT)


def _basic(name: str, text: str, **attributes: str) -> Any:
    return AGG(name, written(text), **attributes)


def _some(name: str, text: str, **attributes: str) -> list[Any]:
    return [_basic(name, text, **attributes)] if text else []


def _group(name: str, *children: Any) -> Any:
    return AGG(name, *children)


def _day(name: str, day: date) -> Any:
    return _group(name, PLAIN("DateTimeString", day.strftime("%Y%m%d"), format=DAY_FORMAT))


def write(told: EInvoice) -> bytes:
    """The XML document, UTF-8."""
    context = DOC(
        "ExchangedDocumentContext", _group("GuidelineSpecifiedDocumentContextParameter", _basic("ID", EN_16931))
    )  # BT-24
    trade = DOC(
        "SupplyChainTradeTransaction", *(_line(item) for item in told.items), _agreement(told), _delivery(told), _settlement(told)
    )
    root = DOC("CrossIndustryInvoice", context, _document(told), trade)
    return bytes(etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True))


def _document(told: EInvoice) -> Any:
    notes = [_group("IncludedNote", _basic("Content", note)) for note in told.notes]  # BT-22
    return DOC(
        "ExchangedDocument",
        _basic("ID", told.number),  # BT-1
        _basic("TypeCode", CREDIT if told.is_credit else COMMERCIAL_INVOICE),  # BT-3
        _day("IssueDateTime", told.issued_on),  # BT-2
        *notes,
    )


def _tax(rate: Rate, sums: RateSum | None = None) -> Any:
    percent = [] if rate.percent is None else [_basic("RateApplicablePercent", plain(rate.percent))]
    return _group(
        "ApplicableTradeTax",
        *([_basic("CalculatedAmount", plain(sums.tax))] if sums else []),
        _basic("TypeCode", "VAT"),
        *(_some("ExemptionReason", sums.exempt_reason) if sums else []),
        *([_basic("BasisAmount", plain(sums.taxable))] if sums else []),
        _basic("CategoryCode", rate.category),
        *percent,
    )


def _characteristics(facts: Iterable[tuple[str, str]]) -> list[Any]:
    return [
        _group("ApplicableProductCharacteristic", _basic("Description", name), _basic("Value", value)) for name, value in facts
    ]


def _line(item: Item) -> Any:
    note = [_group("IncludedNote", _basic("Content", item.note))] if item.note else []
    total = _group("SpecifiedTradeSettlementLineMonetarySummation", _basic("LineTotalAmount", plain(item.net)))
    return _group(
        "IncludedSupplyChainTradeLineItem",
        _group("AssociatedDocumentLineDocument", _basic("LineID", item.order), *note),
        _group("SpecifiedTradeProduct", _basic("Name", item.name), *_characteristics(item.facts)),
        _group("SpecifiedLineTradeAgreement", _group("NetPriceProductTradePrice", _basic("ChargeAmount", plain(item.price)))),
        _group("SpecifiedLineTradeDelivery", _basic("BilledQuantity", plain(item.quantity), unitCode=item.unit)),
        _group("SpecifiedLineTradeSettlement", _tax(item.rate), total),
    )


def _address(trader: Trader) -> Any:
    names = ("LineOne", "LineTwo")
    lines = [_basic(name, line) for name, line in zip(names, trader.address, strict=False)]
    rest = ", ".join(trader.address[len(names) :])
    return _group("PostalTradeAddress", *lines, *_some("LineThree", rest), _basic("CountryID", trader.country))


def _registrations(trader: Trader) -> list[Any]:
    """BT-31 or BT-48 under `VA`, BT-32 under `FC`."""
    numbers = ((trader.vat_id, "VA"), (trader.tax_number, "FC"))
    return [_group("SpecifiedTaxRegistration", _basic("ID", number, schemeID=kind)) for number, kind in numbers if number]


def _contact(trader: Trader) -> list[Any]:
    phone = [_group("TelephoneUniversalCommunication", _basic("CompleteNumber", trader.phone))] if trader.phone else []
    email = [_group("EmailURIUniversalCommunication", _basic("URIID", trader.email))] if trader.email else []
    return [_group("DefinedTradeContact", *phone, *email)] if phone or email else []


def _party(name: str, trader: Trader) -> Any:
    legal = [_group("SpecifiedLegalOrganization", _basic("ID", trader.registration))] if trader.registration else []
    return _group(
        name,
        *_some("ID", trader.identifier),
        _basic("Name", trader.name),
        *legal,
        *_contact(trader),
        _address(trader),
        *_registrations(trader),
    )


def _agreement(told: EInvoice) -> Any:
    return _group(
        "ApplicableHeaderTradeAgreement",
        *_some("BuyerReference", told.buyer_reference),  # BT-10
        _party("SellerTradeParty", told.seller),
        _party("BuyerTradeParty", told.buyer),
    )


def _delivery(told: EInvoice) -> Any:
    day, name = told.delivered_on, told.delivered_to
    place = [_group("ShipToTradeParty", _basic("Name", name))] if name else []  # BT-70
    event = [_group("ActualDeliverySupplyChainEvent", _day("OccurrenceDateTime", day))] if day else []  # BT-72
    return _group("ApplicableHeaderTradeDelivery", *place, *event)


def _means(told: EInvoice) -> list[Any]:
    """BG-16, where there is an account to pay into."""
    if not told.iban:
        return []
    account = _group("PayeePartyCreditorFinancialAccount", _basic("IBANID", told.iban))
    return [_group("SpecifiedTradeSettlementPaymentMeans", _basic("TypeCode", CREDIT_TRANSFER), account)]


def _terms(told: EInvoice) -> list[Any]:
    due = [_day("DueDateDateTime", told.due_on)] if told.due_on and not told.is_credit else []
    words = _some("Description", told.payment_terms)
    return [_group("SpecifiedTradePaymentTerms", *words, *due)] if due or words else []


def _preceding(told: EInvoice) -> list[Any]:
    if told.credits is None:
        return []
    number, day = told.credits
    issued = _group("FormattedIssueDateTime", QUALIFIED("DateTimeString", day.strftime("%Y%m%d"), format=DAY_FORMAT))
    return [_group("InvoiceReferencedDocument", _basic("IssuerAssignedID", number), issued)]


def _settlement(told: EInvoice) -> Any:
    return _group(
        "ApplicableHeaderTradeSettlement",
        *(_some("PaymentReference", told.number) if told.iban else []),  # BT-83
        _basic("InvoiceCurrencyCode", told.currency),
        *_means(told),
        *(_tax(row.rate, row) for row in told.taxes),
        *_terms(told),
        _totals(told),
        *_preceding(told),
    )


def _totals(told: EInvoice) -> Any:
    def money(name: str, amount: Decimal, **attributes: str) -> Any:
        return _basic(name, plain(amount), **attributes)

    return _group(
        "SpecifiedTradeSettlementHeaderMonetarySummation",
        money("LineTotalAmount", told.net),
        money("TaxBasisTotalAmount", told.net),
        money("TaxTotalAmount", told.tax, currencyID=told.currency),
        money("GrandTotalAmount", told.gross),
        *([money("TotalPrepaidAmount", told.prepaid)] if told.prepaid else []),
        money("DuePayableAmount", told.due),
    )
