"""The statement: how a customer's account stands on a day."""

from dataclasses import dataclass
from datetime import date

from moneyed import Money

from shop.paper import Letterhead, Party


@dataclass(frozen=True, slots=True)
class StatementLine:
    """One invoice, credit note or payment. `charged` or `received` is set, and `balance` is what was open after it."""

    on: date
    text: str
    balance: Money
    charged: Money | None = None
    received: Money | None = None
    due_on: date | None = None


@dataclass(frozen=True, slots=True)
class StatementPaper:
    letterhead: Letterhead
    customer: Party
    as_of_on: date
    lines: tuple[StatementLine, ...]
    due: Money
    overdue: Money | None = None
    how_to_pay: str = ""
