"""What an estimate says, frozen: the same data feed the paper, the page and the tests."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Literal

from moneyed import Money

from jobs.documents.facts import SetFacts
from shop.paper import Letterhead, Party
from shop.paper.pictures import PhotoOnPaper

NOT_INCLUDED = (
    "Faults that only show once the set plays, such as silver-mica capacitors in coil cans or a winding that opens when warm: "
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
    mark: str = ""


@dataclass(frozen=True, slots=True)
class AlternativeOnPaper:
    """One of the ways to choose from: both ends with tax, the tax in them, and the most that it may cost."""

    number: int
    name: str
    text: str
    low: Money
    high: Money
    tax_low: Money
    tax_high: Money
    ceiling: Money


@dataclass(frozen=True, slots=True)
class FindingOnPaper:
    """What was found, as it was told, with the photos of its position."""

    text: str
    photos: tuple[PhotoOnPaper, ...] = ()


@dataclass(frozen=True, slots=True)
class ChangeOnPaper:
    """One line against the version agreed to; None where it isn't there."""

    position: str
    text: str
    before: Money | None
    after: Money | None


@dataclass(frozen=True, slots=True)
class RevisionOnPaper:
    """`agreed` names what was agreed to, `compared` the alternative whose lines are compared; totals are high ends with tax."""

    agreed: str
    compared: str
    old: Money
    new: tuple[tuple[str, Money], ...]
    changes: tuple[ChangeOnPaper, ...]


@dataclass(frozen=True, slots=True)
class TaxRange:
    """Tax of one rate: `label` is `VAT 20 %`."""

    label: str
    low: Money
    high: Money


@dataclass(frozen=True, slots=True)
class EstimatePaper:
    """One frozen version. `ceiling` = `total_high` + allowance: the most that may be charged without a newer consent.

    `alternatives` are those the customer chooses one from; the totals are then those of the largest. A line's `mark` says which
    alternatives it is in.
    `replaces_version` is the version that this one takes the place of. `agree_url` is the customer's private page,
    empty where the paper goes out without a link.
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
    promised_on: date | None = None
    alternatives: tuple[AlternativeOnPaper, ...] = ()
    because: str = ""
    findings: tuple[FindingOnPaper, ...] = ()
    revision: RevisionOnPaper | None = None
