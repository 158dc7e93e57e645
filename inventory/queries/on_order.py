"""What is on its way: ordered, not received yet, and not given up."""

from collections.abc import Iterable

from django.db.models import F, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.models import Movement, MovementKind, OrderLine, OrderState, Part


def with_received(lines: "QuerySet[OrderLine]") -> "QuerySet[OrderLine]":
    """Adds `received`, the parts that came in on a line, and `coming`, those that will.

    Only the receipt counts: a lot that was set apart as individuals or sent back came in all the same.
    """
    came = Movement.objects.filter(kind=MovementKind.RECEIVED, lot__order_line=OuterRef("pk")).order_by()
    sums = came.values("lot__order_line").annotate(sum=Sum("count")).values("sum")
    known = lines.annotate(received=Coalesce(Subquery(sums), 0))
    return known.annotate(coming=F("count") - F("received") - F("dropped_count"))


def still_coming(parts: Iterable[Part | int] | None = None) -> "QuerySet[OrderLine]":
    """Lines of sent orders on which parts are still to come; of these parts only, where they are given."""
    lines = OrderLine.objects.filter(order__state=OrderState.SENT)
    if parts is not None:
        lines = lines.filter(part__in=[part if isinstance(part, int) else part.pk for part in parts])
    return with_received(lines).filter(Q(coming__gt=0))


def on_order(parts: Iterable[Part | int] | None = None) -> dict[int, int]:
    """How many of each part are still to come, by the part's key. One query; a part of which nothing is to come isn't in it."""
    counts: dict[int, int] = {}
    for part, coming in still_coming(parts).values_list("part_id", "coming"):  # type: ignore[misc]
        counts[part] = counts.get(part, 0) + coming
    return counts


def being_ordered(parts: Iterable[Part | int]) -> dict[int, int]:
    """How many of each part stand on orders that are still being written. One query; only parts that do are in it."""
    keys = [part if isinstance(part, int) else part.pk for part in parts]
    lines = OrderLine.objects.filter(order__state=OrderState.DRAFT, part__in=keys)
    return dict(lines.order_by().values("part_id").annotate(sum=Sum("count")).values_list("part_id", "sum"))


def ordered_so_far(parts: Iterable[Part | int]) -> dict[int, int]:
    """How many of each part were ever put on an order that wasn't dropped: it changes with every order that is written."""
    keys = [part if isinstance(part, int) else part.pk for part in parts]
    lines = OrderLine.objects.filter(part__in=keys).exclude(order__state=OrderState.DROPPED)
    return dict(lines.order_by().values("part_id").annotate(sum=Sum("count")).values_list("part_id", "sum"))
