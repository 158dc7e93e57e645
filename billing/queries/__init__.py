"""Reading bills: what is billed, what is owed, what each line was drawn from."""

from billing.queries.accounts import (
    Account,
    account_of,
    deposits_left_minor,
    deposits_minor,
    with_account,
)
from billing.queries.bills import BillLine, bill_lines, labour_line, part_line, standing, standing_invoices, totals_of
from billing.queries.frozen import credited_of, frozen_totals, note_totals, taken_by
from billing.queries.ledger import Step, kept_minor, payment_words, steps_of, taken_back_by, takes_back, with_history
from billing.queries.letting_go import money_missing, money_words
from billing.queries.lists import SHOWN, invoices_like, standing_of

__all__ = [
    "SHOWN",
    "Account",
    "BillLine",
    "Step",
    "account_of",
    "bill_lines",
    "credited_of",
    "deposits_left_minor",
    "deposits_minor",
    "frozen_totals",
    "invoices_like",
    "kept_minor",
    "labour_line",
    "money_missing",
    "money_words",
    "note_totals",
    "part_line",
    "payment_words",
    "standing",
    "standing_invoices",
    "standing_of",
    "steps_of",
    "taken_back_by",
    "taken_by",
    "takes_back",
    "totals_of",
    "with_account",
    "with_history",
]
