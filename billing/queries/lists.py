"""Lists of papers, and the word for where each stands."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from billing.models import Invoice, OpenAccount, PaperKind, Payment
from billing.queries.accounts import account_of, with_account
from jobs.queries.jobs import customers_with, numbered_with
from shop.search_text import fold, may_be_numbered


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
        found = found.filter(pk__in=papers_with(word))
    if shown == "credits":
        return found.filter(kind=PaperKind.CREDIT_NOTE)
    if shown == "open":
        return found.filter(pk__in=OpenAccount.objects.order_by().values("invoice"))
    return found.filter(kind=PaperKind.INVOICE, due=0) if shown == "settled" else found


def papers_with(word: str) -> "QuerySet[Invoice, Any]":
    """Keys of papers whose number, job or customer holds a folded word. Each is asked alone, so an index answers."""
    found = Q(customer__in=customers_with(word))
    if may_be_numbered(word):
        found |= Q(job__in=numbered_with(word)) | Q(number__icontains=word)
    return Invoice.objects.filter(found).order_by().values("pk")


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
        found = found.filter(invoice__in=papers_with(word))
    if first:
        found = found.filter(at__gte=_begin(first))
    return found.filter(at__lt=_begin(last + timedelta(days=1))) if last else found


def _begin(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))
