"""What the lines of a bill are made of. Every sum is given, none is reckoned here: a paper only shows what the books say."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from moneyed import Money

from shop.paper.sums import SumRow as SumRow


@dataclass(frozen=True, slots=True)
class BillLine:
    """`amount` = `count` x `unit` as priced (with tax where the bill says so), `net` is without tax. `minutes` for labour,
    `part_class` (`new`, `used`, `rebuilt`) for parts."""

    kind: Literal["part", "labour", "flat"]
    text: str
    unit: Money
    amount: Money
    net: Money
    tax_percent: Decimal
    position: str = ""
    part_class: str = ""
    count: int = 1
    minutes: int = 0


@dataclass(frozen=True, slots=True)
class FreeLine:
    """A part or labour that is not charged, with its reason."""

    text: str
    reason: str
    position: str = ""
    part_class: str = ""
    count: int = 1


@dataclass(frozen=True, slots=True)
class TaxLine:
    """`label` is `VAT 20 %`."""

    label: str
    taxable: Money
    tax: Money


@dataclass(frozen=True, slots=True)
class PaymentLine:
    """Money received or waived, printed as taken off the total; negative where it was paid back."""

    label: str
    paid_on: date
    amount: Money
