"""Parts that were fitted at a price set by hand: what our own pricing said, and why it was not taken."""

from dataclasses import dataclass

from django.db.models import BooleanField, ExpressionWrapper, F, Q, QuerySet, Sum

from jobs.models import EntryKind, LogEntry


@dataclass(frozen=True, slots=True)
class HandPriceSums:
    """How many parts were fitted at another price and are in their sets still; what they came to and would have, minor units."""

    count: int
    charged_minor: int
    usual_minor: int

    @property
    def difference_minor(self) -> int:
        return self.charged_minor - self.usual_minor


def set_by_hand() -> "QuerySet[LogEntry]":
    """The newest first, each with what a line of the list shows; `is_below_cost` where one of the lot cost more."""
    below = Q(lot__unit_cost_milli__gt=F("unit_price_minor") * 1000)
    # By key, so that the index of priced entries is gone by, whatever a planner thinks of the log.
    priced = LogEntry.objects.filter(usual_price_minor__isnull=False).order_by().values("pk")
    found = LogEntry.objects.filter(kind=EntryKind.FITTED, pk__in=priced)
    found = found.annotate(is_below_cost=ExpressionWrapper(below, output_field=BooleanField()))
    return found.select_related("job", "position", "lot", "person", "taken_out_by").order_by("-pk")


def sums_of(entries: "QuerySet[LogEntry]") -> HandPriceSums:
    still_in = entries.order_by().filter(Q(taken_out_by__isnull=True))
    found = still_in.aggregate(
        parts=Sum("count"), charged=Sum(F("unit_price_minor") * F("count")), usual=Sum(F("usual_price_minor") * F("count"))
    )
    return HandPriceSums(found["parts"] or 0, found["charged"] or 0, found["usual"] or 0)
