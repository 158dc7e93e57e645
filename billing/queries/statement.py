"""A customer's account: every paper, payment, move and sum let go, in the order of days, by currency."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from billing.models import Invoice
from billing.queries.accounts import Account
from billing.queries.ledger import Step, steps_of, with_history
from shop.models import Customer


@dataclass(frozen=True, slots=True)
class Booking:
    """One line of a customer's account; `minor` above nothing is charged, below it is received or let go."""

    on: date
    text: str
    minor: int
    due_on: date | None = None

    @property
    def received_minor(self) -> int:
        return -self.minor


@dataclass(frozen=True, slots=True)
class CustomerAccount:
    """What was booked from `first` (None: from the beginning) to `last`, in one currency and minor units.

    `opening_minor` was open before; `closing_minor` is open after; `overdue_minor` of it was due before `last`.
    """

    currency: str
    first: date | None
    last: date
    opening_minor: int
    lines: tuple[Booking, ...]
    overdue_minor: int

    @property
    def closing_minor(self) -> int:
        return self.opening_minor + sum(line.minor for line in self.lines)

    @property
    def charged_minor(self) -> int:
        return sum(line.minor for line in self.lines if line.minor > 0)

    @property
    def received_minor(self) -> int:
        return -sum(line.minor for line in self.lines if line.minor < 0)

    def balances(self) -> list[int]:
        """What was open after each line."""
        found, balance = [], self.opening_minor
        for line in self.lines:
            balance += line.minor
            found.append(balance)
        return found


def accounts_of(customer: Customer, first: date | None, last: date) -> list[CustomerAccount]:
    """One account a currency that the customer was ever billed in; sums of several currencies are never added."""
    invoices = list(with_history(customer.invoices.order_by("pk")))  # type: ignore[attr-defined]
    currencies = sorted({one.currency for one in invoices})
    return [_account([one for one in invoices if one.currency == code], code, first, last) for code in currencies]


def _account(invoices: Iterable[Invoice], currency: str, first: date | None, last: date) -> CustomerAccount:
    walked = [[step for step in steps_of(one) if step.on <= last] for one in invoices]
    steps = sorted((step for steps in walked for step in steps), key=lambda step: (step.on, step.at))
    lines = [booking for step in steps if first is None or step.on >= first for booking in bookings_of(step)]
    opening = sum(step.due_minor for step in steps if first is not None and step.on < first)
    return CustomerAccount(currency, first, last, opening, tuple(lines), sum(_overdue(steps, last) for steps in walked))


def bookings_of(step: Step) -> list[Booking]:
    due_on = step.paper.due_on if step.money is None and not step.paper.is_credit else None
    told = step.parts() or ([(step.words, 0)] if step.money is None else [])
    return [Booking(step.on, text, minor, due_on if place == 0 else None) for place, (text, minor) in enumerate(told)]


def _overdue(steps: list[Step], last: date) -> int:
    account: Account | None = steps[-1].after if steps else None
    return max(account.due_minor, 0) if account and steps[0].paper.due_on < last else 0
