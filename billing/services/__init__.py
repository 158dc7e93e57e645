"""Bills' only writers: invoices, credit notes, payments, deposits. Each act is one transaction."""

from billing.services.credits import PartOf, credit, credit_part
from billing.services.deposits import give_back_deposit, take_deposit
from billing.services.invoices import issue_invoice
from billing.services.payments import Money, move_credit, record_payment, take_back

__all__ = [
    "Money",
    "PartOf",
    "credit",
    "credit_part",
    "give_back_deposit",
    "issue_invoice",
    "move_credit",
    "record_payment",
    "take_back",
    "take_deposit",
]
