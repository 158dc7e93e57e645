"""What lies in the drawers near a value: by how far it is off, with at least the volts and watts that are needed."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from inventory.models import Balance, Drawer, Part, PartQuerySet

MOST_SHOWN = 60
MOST_LOOKED_AT = 600


@dataclass(frozen=True, slots=True)
class Wanted:
    """`value` in ohm, F or H; parts up to `within` times larger or smaller count as near (1.25: a quarter)."""

    kind: str
    value: float
    within: float = 1.25
    least_volts: float | None = None
    least_watts: float | None = None
    technology: str = ""
    only_here: bool = True


@dataclass(frozen=True, slots=True)
class Near:
    """One part that lies near; `off_percent` is signed, `lying` are its balances with their drawers."""

    part: Part
    off_percent: float
    lying: tuple[Balance, ...]

    @property
    def free(self) -> int:
        return sum(balance.free for balance in self.lying)

    @property
    def drawers(self) -> list[Drawer]:
        """Each drawer once, however many lots lie in it."""
        return list(dict.fromkeys(balance.drawer for balance in self.lying))

    @property
    def off_words(self) -> str:
        """The deviation as it is said aloud; a part in ten thousand is nobody's deviation."""
        return "the value itself" if abs(self.off_percent) < 0.01 else f"{self.off_percent:+.3g} %".replace("-", "−")


def _in_reach(wanted: Wanted) -> PartQuerySet:
    low, high = wanted.value / wanted.within, wanted.value * wanted.within
    # A value just on the edge may lie a hair outside as a float.
    parts = Part.objects.filter(kind=wanted.kind, in_use=True, value_si__range=(low * (1 - 1e-9), high * (1 + 1e-9)))
    if wanted.least_volts is not None:
        parts = parts.filter(volts__gte=wanted.least_volts)
    if wanted.least_watts is not None:
        parts = parts.filter(watts__gte=wanted.least_watts)
    if wanted.technology:
        parts = parts.filter(technology=wanted.technology)
    return parts.filter(lots__balances__on_hand__gt=0, lots__owner=None).distinct() if wanted.only_here else parts


def _distance(part: Part, value: float) -> float:
    return abs(log((part.value_si or value) / value))


def nearest(wanted: Wanted) -> list[Near]:
    """The nearest first, by ratio; equal ones by the lower rating, which is the smaller and cheaper part. Three queries."""
    parts = sorted(_in_reach(wanted)[:MOST_LOOKED_AT], key=lambda part: (_distance(part, wanted.value), part.volts or 0, part.pk))
    shown = parts[:MOST_SHOWN]
    lying = _lying(shown)
    return [
        Near(part, ((part.value_si or wanted.value) / wanted.value - 1) * 100, tuple(lying.get(part.pk, ()))) for part in shown
    ]


def _lying(parts: Sequence[Part]) -> dict[int, list[Balance]]:
    found: dict[int, list[Balance]] = {}
    there = Balance.objects.filter(lot__part__in=parts, on_hand__gt=0, lot__blocked_reason="", lot__owner=None)
    for balance in there.select_related("drawer", "lot").order_by("drawer__cabinet", "drawer__tray", "drawer__compartment", "pk"):
        found.setdefault(balance.lot.part_id, []).append(balance)
    return found


def unrated(wanted: Wanted) -> int:
    """How many parts of the value lie here whose card says no voltage or wattage, so that they can't be offered."""
    bare = Wanted(wanted.kind, wanted.value, wanted.within, technology=wanted.technology)
    parts = _in_reach(bare)
    missing = parts.none()
    if wanted.least_volts is not None:
        missing = missing | parts.filter(volts__isnull=True)
    if wanted.least_watts is not None:
        missing = missing | parts.filter(watts__isnull=True)
    return missing.distinct().count()
