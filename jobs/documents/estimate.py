"""The estimate: what the customer is asked to agree to, line by line."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Literal

from moneyed import Money

from jobs.documents.facts import SetFacts
from shop.paper import Letterhead, Party

NOT_INCLUDED = (
    "Faults that only show once the set plays, such as silver-mica capacitors inside coil cans or a winding that opens when warm: "
    + "they come to you as a newer version of this estimate, with what was found.",
    "Cabinet work, unless a line above names it.",
    "Carriage and packing.",
)


@dataclass(frozen=True, slots=True)
class EstimateLine:
    """`low`..`high` for the whole line, equal where the price is firm. `minutes` for labour, `unit` for parts."""

    kind: Literal["part", "labour", "flat", "fee"]
    text: str
    low: Money
    high: Money
    position: str = ""
    count: int = 1
    minutes: int = 0
    unit: Money | None = None


@dataclass(frozen=True, slots=True)
class TaxRange:
    """Tax of one rate: `label` is `VAT 20 %`."""

    label: str
    low: Money
    high: Money


@dataclass(frozen=True, slots=True)
class EstimatePaper:
    """One frozen version. `ceiling` = `total_high` + allowance: the most that may be charged without a newer consent.

    `replaces_version` is the version that this one takes the place of. `agree_url` is the customer's private page.
    """

    letterhead: Letterhead
    job_number: str
    version: int
    made_at: datetime
    made_by: str
    customer: Party
    radio: SetFacts
    fault: str
    goal: str
    lines: tuple[EstimateLine, ...]
    net_low: Money
    net_high: Money
    taxes: tuple[TaxRange, ...]
    total_low: Money
    total_high: Money
    allowance_percent: Decimal
    ceiling: Money
    agree_url: str
    prices_include_tax: bool = False
    stands_until_on: date | None = None
    deposit: Money | None = None
    note: str = ""
    not_included: tuple[str, ...] = NOT_INCLUDED
    terms: str = ""
    replaces_version: int | None = None
