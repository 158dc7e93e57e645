"""A supplier's offers a page at a time: a hundred thousand of them are walked by their code, never counted off."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, Q, QuerySet

from inventory.models import Offer, Supplier
from shop.search_text import fold

ROWS_A_PAGE = 50
OFFERED, LINKED, OPEN, GONE = "", "linked", "open", "gone"
SHOW = {OFFERED: "offered now", OPEN: "without our card", LINKED: "linked to our card", GONE: "no longer offered"}


@dataclass(frozen=True, slots=True)
class OfferPage:
    """`before` and `after` are the codes to ask for the page before and after this one; empty where there is none."""

    offers: Sequence[Offer]
    before: str
    after: str


def offer_counts(supplier: Supplier) -> dict[str, int]:
    """How many are offered now, and how many of those are linked to a card of ours."""
    offered = Offer.objects.filter(supplier=supplier, is_offered=True)
    return offered.aggregate(offered=Count("pk"), linked=Count("part"))


def offers_matching(supplier: Supplier, text: str, show: str) -> "QuerySet[Offer]":
    """Every word of the text in code or description; `show` is a key of SHOW."""
    found = Offer.objects.filter(supplier=supplier, is_offered=show != GONE)
    if show in (LINKED, OPEN):
        found = found.filter(part__isnull=show == OPEN)
    for word in fold(text).split():
        found = found.filter(search__contains=word)
    return found


def page_of_offers(offers: "QuerySet[Offer]", after: str = "", before: str = "") -> OfferPage:
    """The page behind the code `after`, or before the code `before`; the first where neither is given."""
    rows = offers.select_related("part")
    if before:
        found = list(rows.filter(code__lt=before).order_by("-code")[: ROWS_A_PAGE + 1])
        more = len(found) > ROWS_A_PAGE
        shown = found[:ROWS_A_PAGE][::-1]
        return OfferPage(shown, shown[0].code if shown and more else "", shown[-1].code if shown else "")
    asked = rows.filter(Q(code__gt=after)) if after else rows
    found = list(asked.order_by("code")[: ROWS_A_PAGE + 1])
    shown = found[:ROWS_A_PAGE]
    return OfferPage(shown, shown[0].code if shown and after else "", shown[-1].code if len(found) > ROWS_A_PAGE else "")
