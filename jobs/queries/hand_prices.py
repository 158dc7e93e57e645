"""Parts that were fitted at a price set by hand: what our own pricing said, and why it was not taken."""

from dataclasses import dataclass

from django.db.models import F, Q, QuerySet, Sum

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
    """The newest first, each with what a line of the list shows."""
    found = LogEntry.objects.filter(kind=EntryKind.FITTED, usual_price_minor__isnull=False)
    return found.select_related("job", "position", "lot", "person", "taken_out_by").order_by("-pk")


def sums_of(entries: "QuerySet[LogEntry]") -> HandPriceSums:
    still_in = entries.order_by().filter(Q(taken_out_by__isnull=True))
    found = still_in.aggregate(
        parts=Sum("count"), charged=Sum(F("unit_price_minor") * F("count")), usual=Sum(F("usual_price_minor") * F("count"))
    )
    return HandPriceSums(found["parts"] or 0, found["charged"] or 0, found["usual"] or 0)
