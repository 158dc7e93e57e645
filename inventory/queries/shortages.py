"""What of a part there is and will be, against what is to be kept of it."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.models import Balance, Part, PartQuerySet
from inventory.queries.on_order import being_ordered, on_order


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


def standings(needed: Iterable[int] = ()) -> dict[int, Standing]:
    """By key: the parts given, and every part of which less is free than is to be kept. Three queries."""
    low = Q(in_use=True, minimum__gt=F("usable"))
    return _of(with_usable(Part.objects.all()).filter(low | Q(pk__in=list(needed))))


def standing_of(part: Part) -> Standing:
    return _of(with_usable(Part.objects.all()).filter(pk=part.pk))[part.pk]


def _of(found: PartQuerySet) -> dict[int, Standing]:
    parts = list(found.order_by("kind", "value_si", "pk"))
    keys = [part.pk for part in parts]
    coming, drafted = on_order(keys), being_ordered(keys)
    return {
        part.pk: Standing(part, part.usable, coming.get(part.pk, 0), drafted.get(part.pk, 0))  # type: ignore[attr-defined]
        for part in parts
    }


def shortages() -> list[Standing]:
    """Parts that fall short of their minimum even when everything ordered has come."""
    return [one for one in standings().values() if one.short]
