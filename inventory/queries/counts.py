"""Counts of drawers: what differs, what it is worth at cost, and which drawers nobody has counted for long."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, F, Max, OuterRef, QuerySet

from inventory.models import Balance, CountedLot, Drawer, DrawerCount


@dataclass(frozen=True, slots=True)
class CountLine:
    """One lot of a count. `worth_milli` is the variance at cost, in thousandths of the smallest coin, signed."""

    line: CountedLot

    @property
    def variance(self) -> int:
        return (self.line.counted or 0) - (self.line.expected or 0)

    @property
    def worth_milli(self) -> int:
        return self.variance * self.line.lot.unit_cost_milli

    @property
    def words(self) -> str:
        if self.variance == 0:
            return "agrees"
        return f"{abs(self.variance)} {'more' if self.variance > 0 else 'fewer'} than the ledger says"


def lines_of(count: DrawerCount) -> list[CountLine]:
    lots = count.lots.select_related("lot__part", "lot__supplier", "movement")  # type: ignore[attr-defined]
    return [CountLine(line) for line in lots]


def worth_milli(lines: Sequence[CountLine]) -> int:
    return sum(line.worth_milli for line in lines)


def counts() -> "QuerySet[DrawerCount]":
    """Counts that weren't dropped, the open ones first, then the newest."""
    kept = DrawerCount.objects.filter(dropped_at__isnull=True).select_related("drawer", "opened_by", "booked_by")
    return kept.order_by(F("booked_at").desc(nulls_first=True), "-pk")


@dataclass(frozen=True, slots=True)
class Booked:
    """A line of the list of counts: how many lots differed, and what that came to at cost."""

    count: DrawerCount
    lots: int
    differing: int
    worth_milli: int


def with_variances(listed: Sequence[DrawerCount]) -> list[Booked]:
    lines: dict[int, list[CountLine]] = {}
    for line in CountedLot.objects.filter(count__in=listed).select_related("lot"):
        lines.setdefault(line.count_id, []).append(CountLine(line))
    found = []
    for count in listed:
        own = lines.get(count.pk, [])
        found.append(Booked(count, len(own), sum(bool(line.variance) for line in own), worth_milli(own)))
    return found


def longest_uncounted(how_many: int = 10) -> list[tuple[Drawer, datetime | None]]:
    """Drawers that hold something, those never counted first, then those whose last count is the oldest."""
    lying = Balance.objects.filter(on_hand__gt=0)
    full = Drawer.objects.filter(Exists(lying.filter(drawer=OuterRef("pk"))))
    booked = DrawerCount.objects.filter(booked_at__isnull=False).order_by()
    never = list(full.filter(~Exists(booked.filter(drawer=OuterRef("pk")))).order_by("cabinet", "tray", "compartment")[:how_many])
    place = ("drawer__cabinet", "drawer__tray", "drawer__compartment")
    of_full = booked.filter(Exists(lying.filter(drawer=OuterRef("drawer"))))
    last = of_full.values("drawer", *place).annotate(last=Max("booked_at"))
    counted = last.order_by("last", *place).values_list("drawer", *place, "last")[:how_many]
    later = [(Drawer(pk, *names), at) for pk, *names, at in counted]
    return [*((drawer, None) for drawer in never), *later][:how_many]
