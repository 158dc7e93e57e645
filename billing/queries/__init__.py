"""Reading bills: what is billed, what is owed, what each line was drawn from."""

from billing.queries.accounts import (
    Account,
    account_of,
    deposits_left_minor,
    deposits_minor,
    money_missing,
    money_words,
    with_account,
)
from billing.queries.bills import BillLine, bill_lines, billed_now, frozen_totals, labour_line, part_line, totals_of
from billing.queries.lists import SHOWN, invoices_like, standing_of

__all__ = [
    "SHOWN",
    "Account",
    "BillLine",
    "account_of",
    "bill_lines",
    "billed_now",
    "deposits_left_minor",
    "deposits_minor",
    "frozen_totals",
    "invoices_like",
    "labour_line",
    "money_missing",
    "money_words",
    "part_line",
    "standing_of",
    "totals_of",
    "with_account",
]
