"""Bills' only writers: invoices, credit notes, payments, deposits. Each act is one transaction."""

from billing.services.credits import credit
from billing.services.deposits import give_back_deposit, take_deposit
from billing.services.invoices import issue_invoice
from billing.services.payments import Money, record_payment

__all__ = ["Money", "credit", "give_back_deposit", "issue_invoice", "record_payment", "take_deposit"]
