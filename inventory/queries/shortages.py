"""What of a part there is and will be, against what is to be kept of it."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.models import Balance, Lot, OrderLine, OrderState, Part, PartQuerySet
from inventory.queries.on_order import being_ordered, on_order, with_received


@dataclass(frozen=True, slots=True)
class Standing:
    """`free`: can be fitted by anybody now, so neither held nor of a blocked lot nor a customer's own. `coming`: on sent orders;
    `drafted`: on orders that are being written."""

    part: Part
    free: int
    coming: int
    drafted: int

    @property
    def minimum(self) -> int:
        return self.part.minimum if self.part.in_use else 0

    @property
    def cover(self) -> int:
        return self.free + self.coming + self.drafted

    @property
    def short(self) -> int:
        """How many to buy so that the minimum is kept, whatever jobs need."""
        return max(self.minimum - self.cover, 0)


def with_usable(parts: PartQuerySet) -> PartQuerySet:
    """Adds `usable`: free, and of a lot of the shop's that isn't blocked."""
    lying = (
        Balance.objects.filter(lot__part=OuterRef("pk"), lot__blocked_reason="", lot__owner=None).order_by().values("lot__part")
    )
    free = lying.annotate(sum=Sum(F("on_hand") - F("held"))).values("sum")
    return parts.annotate(usable=Coalesce(Subquery(free), 0))


def standings(needed: Iterable[int] = (), most: int | None = None) -> dict[int, Standing]:
    """By key: the parts given, and parts of which less is free than is to be kept. Five queries.

    With `most`, of the latter at most so many that fall short even when everything ordered has come: the first in a list's order.
    """
    keys = {*needed, *_low(most)}
    return _of(with_usable(Part.objects.filter(pk__in=keys)))


def running_out() -> PartQuerySet:
    """Parts of which less can be fitted now than is to be kept, whatever is on order; each with `usable`."""
    by_card, of_blocked = (parts.order_by().values("pk") for parts in _below())
    return with_usable(Part.objects.filter(Q(pk__in=by_card) | Q(pk__in=of_blocked)))


def _low(most: int | None) -> set[int]:
    found: set[int] = set()
    for parts in _below():
        short = parts if most is None else _uncovered(parts).order_by("kind", "value_si", "marking", "pk")[:most]
        found.update(short.values_list("pk", flat=True))
    return found


def _below() -> tuple[PartQuerySet, PartQuerySet]:
    """What is free on a card counts blocked lots as well: parts of such lots are asked apart, all others by the index."""
    # Reckoned with, so that SQLite goes by the index of blocked lots, which are few, and not by that of all that lies here.
    lying = Lot.objects.alias(lying=F("on_hand") + 0).filter(lying__gt=0)
    blocked = lying.exclude(blocked_reason="").order_by().values("part")
    kept = Part.objects.filter(in_use=True, minimum__gt=0)
    by_card = with_usable(kept.short()).filter(minimum__gt=F("usable"))
    of_blocked = with_usable(kept.filter(pk__in=blocked)).filter(minimum__gt=F("usable"))
    return by_card, of_blocked


def _uncovered(parts: PartQuerySet) -> PartQuerySet:
    """Those that fall short of their minimum with what is on order and being ordered."""
    lines = OrderLine.objects.filter(part=OuterRef("pk")).order_by()
    coming = with_received(lines.filter(order__state=OrderState.SENT)).filter(Q(coming__gt=0)).values("part")
    drafted = lines.filter(order__state=OrderState.DRAFT).values("part")
    known = parts.annotate(
        to_come=Coalesce(Subquery(coming.annotate(sum=Sum("coming")).values("sum")), 0),
        drafted=Coalesce(Subquery(drafted.annotate(sum=Sum("count")).values("sum")), 0),
    )
    return known.filter(minimum__gt=F("usable") + F("to_come") + F("drafted"))


def standing_of(part: Part) -> Standing:
    return _of(with_usable(Part.objects.all()).filter(pk=part.pk))[part.pk]


def _of(found: PartQuerySet) -> dict[int, Standing]:
    parts = list(found.order_by("kind", "value_si", "marking", "pk"))
    keys = [part.pk for part in parts]
    coming, drafted = on_order(keys), being_ordered(keys)
    return {
        part.pk: Standing(part, part.usable, coming.get(part.pk, 0), drafted.get(part.pk, 0))  # type: ignore[attr-defined]
        for part in parts
    }


def shortages() -> list[Standing]:
    """Parts that fall short of their minimum even when everything ordered has come."""
    return [one for one in standings().values() if one.short]
