"""The bills that pages over all years begin with: whoever wants to look further back says from which day."""

from datetime import date
from typing import Any

from django.db.models import QuerySet

from billing.models import Invoice, PaperKind

MOST_BILLS = 500


def first_shown(first: date | None = None, last: date | None = None) -> date | None:
    """The day from which on bills are shown where no day is asked for; None while the shop has few enough to show all."""
    if first or last:
        return first
    days = Invoice.objects.filter(kind=PaperKind.INVOICE).order_by("-issued_on").values_list("issued_on", flat=True)
    return next(iter(days[MOST_BILLS - 1 : MOST_BILLS]), None)


def between(papers: "QuerySet[Any]", first: date | None, last: date | None, day: str = "issued_on") -> "QuerySet[Any]":
    """Both days count."""
    if first:
        papers = papers.filter(**{f"{day}__gte": first})
    return papers.filter(**{f"{day}__lte": last}) if last else papers
