"""What an electronic invoice says, by the terms of EN 16931-1:2017, and the refusal where that can't be said.

Amounts are `Decimal` with exactly the currency's digits; rates are percent; days are dates.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

MOST_DIGITS = 2
HOUR, ONE = "HUR", "C62"


class NotTold(ValueError):
    """This paper can't be told as an electronic invoice; `reasons` say why, and where to mend it."""

    def __init__(self, reasons: Iterable[str]) -> None:
        self.reasons = tuple(reasons)
        super().__init__(" ".join(self.reasons))


@dataclass(frozen=True, slots=True)
class Trader:
    """Seller (BG-4) or buyer (BG-7). `vat_id` begins with its country's letters; `tax_number` is any other tax registration."""

    name: str
    address: tuple[str, ...]
    country: str
    vat_id: str = ""
    tax_number: str = ""
    registration: str = ""
    identifier: str = ""
    phone: str = ""
    email: str = ""


@dataclass(frozen=True, slots=True)
class Rate:
    """A VAT category of UNTDID 5305 (S, Z, E, O) with its rate; outside the tax (O) there is no rate."""

    category: str
    percent: Decimal | None


@dataclass(frozen=True, slots=True)
class Item:
    """One line (BG-25). `quantity` x `price` rounds to `net` exactly; `facts` are attributes of the item (BG-32)."""

    order: str
    name: str
    quantity: Decimal
    unit: str
    price: Decimal
    net: Decimal
    rate: Rate
    note: str = ""
    facts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class RateSum:
    """A row of the VAT breakdown (BG-23)."""

    rate: Rate
    taxable: Decimal
    tax: Decimal
    exempt_reason: str = ""


@dataclass(frozen=True, slots=True)
class EInvoice:
    """An invoice, or a credit note (`credits` is its invoice's number and day); its sums are positive either way.

    `delivered_to` is told where the day isn't known: one of the syntaxes wants something said of the delivery.
    """

    number: str
    issued_on: date
    currency: str
    seller: Trader
    buyer: Trader
    items: tuple[Item, ...]
    taxes: tuple[RateSum, ...]
    net: Decimal
    tax: Decimal
    gross: Decimal
    prepaid: Decimal
    due: Decimal
    due_on: date | None = None
    credits: tuple[str, date] | None = None
    buyer_reference: str = ""
    delivered_on: date | None = None
    delivered_to: str = ""
    notes: tuple[str, ...] = ()
    payment_terms: str = ""
    iban: str = ""

    @property
    def is_credit(self) -> bool:
        return self.credits is not None


_NO_XML = dict.fromkeys((0xFFFE, 0xFFFF), "\ufffd")


def written(text: str) -> str:
    """The text as a document can hold it: XML 1.0 (2.2, Char) has neither U+FFFE nor U+FFFF; a replacement sign stands there."""
    return text.translate(_NO_XML)


def plain(value: Decimal) -> str:
    """A number as both syntaxes write it: no exponent, and no zero more than it has."""
    return f"{value:f}"
