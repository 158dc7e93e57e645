"""What lies of a part and a lot, on their cards: written in the transaction that moves parts, derived again by `verify`."""

from collections.abc import Iterable
from typing import Any

from django.db import connection
from django.db.models import OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.models import Balance, Lot, Part
from shop.prepared import add


def lock(parts: Iterable[int]) -> None:
    """Before the lots and balances of these parts, in the order of their keys: acts at once never wait for each other.

    A database without locks of rows has the whole locked by whoever writes, so there is nothing to ask.
    """
    if connection.features.has_select_for_update:
        list(Part.objects.select_for_update(no_key=True).filter(pk__in=set(parts)).order_by("pk").values_list("pk"))


def moved(lot: Lot, *, on_hand: int = 0, held: int = 0) -> None:
    """So many more lie of a lot, so many more of it are held. A customer's own parts are not the shop's stock."""
    if on_hand:
        add(Lot, lot.pk, on_hand=on_hand)
    if lot.owner_id is None:
        add(Part, lot.part_id, on_hand=on_hand, held=held)


def sum_all() -> None:
    """All cards anew from the balances, as after loading a whole shop."""
    of_lot = Balance.objects.filter(lot=OuterRef("pk")).order_by().values("lot")
    of_part = Balance.objects.filter(lot__part=OuterRef("pk"), lot__owner=None).order_by().values("lot__part")
    Lot.objects.update(on_hand=_summed(of_lot, "on_hand"))
    Part.objects.update(on_hand=_summed(of_part, "on_hand"), held=_summed(of_part, "held"))


def _summed(balances: "QuerySet[Balance, Any]", column: str) -> Coalesce:
    return Coalesce(Subquery(balances.annotate(sum=Sum(column)).values("sum")), 0)
