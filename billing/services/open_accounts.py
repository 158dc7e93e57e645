"""On which invoices something is open: kept in the act that changes it, under the job's lock; derived again by `verify`."""

from collections.abc import Iterable
from typing import Any

from billing.models import Invoice, OpenAccount, PaperKind
from billing.queries.accounts import account_of, with_account
from shop.prepared import put

AT_ONCE = 1000


def keep(invoice: Invoice, due_minor: int) -> None:
    """This is due on it from now on."""
    if not due_minor:
        OpenAccount.objects.filter(invoice=invoice).delete()
        return
    put(OpenAccount(invoice=invoice, due_minor=due_minor), over="invoice")


def keep_anew(*invoices: Invoice) -> None:
    """Whatever the rows of their money come to now."""
    for invoice in invoices:
        keep(invoice, account_of(invoice).due_minor)


def keep_all() -> None:
    """Of every invoice, as after loading a whole shop."""
    OpenAccount.objects.all().delete()
    OpenAccount.objects.bulk_create(_rows(), batch_size=AT_ONCE)


def _rows() -> Iterable[OpenAccount]:
    bills: Any = with_account(Invoice.objects.filter(kind=PaperKind.INVOICE).order_by("pk"))
    return [OpenAccount(invoice_id=pk, due_minor=due) for pk, due in bills.exclude(due=0).values_list("pk", "due")]
