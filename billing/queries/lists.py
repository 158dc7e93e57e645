"""Lists of papers, and the word for where each stands."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from billing.models import Invoice, PaperKind, Payment
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


def payments_like(text: str = "", first: date | None = None, last: date | None = None) -> "QuerySet[Payment]":
    """Every line of money against an invoice, the newest first, with what its words need; both days count."""
    heads = (
        "invoice__customer",
        "invoice__job",
        "person",
        "counterpart__invoice",
        "moved_from__invoice",
        "moved_from__moved_from",
    )
    found = Payment.objects.select_related(*heads).order_by("-pk")
    for word in fold(text).split():
        paper = Q(invoice__number__icontains=word) | Q(invoice__job__number__icontains=word)
        found = found.filter(paper | Q(invoice__customer__search__contains=word))
    if first:
        found = found.filter(at__gte=_begin(first))
    return found.filter(at__lt=_begin(last + timedelta(days=1))) if last else found


def _begin(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))
