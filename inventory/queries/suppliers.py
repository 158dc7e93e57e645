"""Suppliers for their list: how many lots came from each, and when the last one."""

from django.db.models import Count, IntegerField, Max, OuterRef, QuerySet, Subquery

from inventory.models import Lot, Supplier

# A supplier of many years has more lots than anybody tells apart, and counting them all takes longer than the page.
MOST_LOTS_COUNTED = 500


class _HowMany(Subquery):
    """How many rows a subquery has."""

    template = "(SELECT COUNT(*) FROM (%(subquery)s) counted)"
    output_field = IntegerField()


def listed() -> "QuerySet[Supplier]":
    """Adds `last_on` and `lot_count`, which for more than so many is one above `MOST_LOTS_COUNTED`."""
    lots = Lot.objects.filter(supplier=OuterRef("pk")).order_by()
    newest = lots.order_by("-received_on").values("received_on")[:1]
    some = lots.values("pk")[: MOST_LOTS_COUNTED + 1]
    return Supplier.objects.annotate(lot_count=_HowMany(some), last_on=Subquery(newest))


def counted_out() -> "QuerySet[Supplier]":
    """The same with every lot counted, for a file."""
    return Supplier.objects.annotate(lot_count=Count("lots"), last_on=Max("lots__received_on"))
