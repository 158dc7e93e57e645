"""Lists of papers, and the word for where each stands."""

from datetime import date
from typing import Any

from django.db.models import Q, QuerySet

from billing.models import Invoice, PaperKind
from billing.queries.accounts import account_of, with_account
from shop.search_text import fold


def standing_of(invoice: Any, day: date) -> tuple[str, str]:
    """Mark and word for an invoice that `with_account` has read."""
    if invoice.is_credit:
        return "note", "Credit note"
    if invoice.due < 0:
        return "warn", "Money to give back"
    if invoice.is_credited:
        return "note", "Credited"
    if invoice.due == 0:
        return ("note", "Written off") if account_of(invoice).lost_minor else ("yes", "Settled")
    return ("no", "Overdue") if invoice.due_on < day else ("wait", "Open")


SHOWN = (("", "All"), ("open", "Open"), ("settled", "Settled"), ("credits", "Credit notes"))


def invoices_like(text: str = "", shown: str = "") -> "QuerySet[Invoice]":
    """Invoices and credit notes by number, job or customer, the newest first; `shown` is one of SHOWN's codes."""
    found: QuerySet[Any] = with_account(Invoice.objects.select_related("job", "customer"))
    for word in fold(text).split():
        found = found.filter(Q(number__icontains=word) | Q(job__number__icontains=word) | Q(customer__search__contains=word))
    if shown == "credits":
        return found.filter(kind=PaperKind.CREDIT_NOTE)
    if shown == "open":
        return found.filter(kind=PaperKind.INVOICE).exclude(due=0)
    return found.filter(kind=PaperKind.INVOICE, due=0) if shown == "settled" else found
