"""Stock derived again from its ledger: balances, holds, and that no drawer ever held less than nothing."""

from collections import Counter

from django.db.models import Sum

from inventory.models import Balance, Hold, Movement
from shop.differences import Found, Looker, differ, look

Place = tuple[int, int]


def _name(place: Place) -> str:
    return f"lot {place[0]} in drawer {place[1]}"


def balances() -> Found:
    """On hand of every lot in every drawer is the sum of its movements."""
    sums = Movement.objects.order_by().values_list("lot_id", "drawer_id").annotate(Sum("count"))
    moved = {(lot, drawer): count for lot, drawer, count in sums}
    kept = {(row.lot_id, row.drawer_id): row.on_hand for row in Balance.objects.all()}
    places = sorted(moved.keys() | kept.keys())
    return look("stock: on hand is the sum of movements", (_differ_at(p, kept.get(p, 0), moved.get(p, 0)) for p in places))


def _differ_at(place: Place, kept: int, derived: int) -> list[str]:
    return differ(f"on hand of {_name(place)}", kept, derived)


def holds() -> Found:
    """What is held in every drawer is the sum of its open holds."""
    sums = Hold.objects.filter(ended_at__isnull=True).order_by().values_list("lot_id", "drawer_id").annotate(Sum("count"))
    held = {(lot, drawer): count for lot, drawer, count in sums}
    kept = {(row.lot_id, row.drawer_id): row.held for row in Balance.objects.all()}
    places = sorted(held.keys() | kept.keys())
    return look(
        "stock: held is the sum of open holds", (differ(f"held of {_name(p)}", kept.get(p, 0), held.get(p, 0)) for p in places)
    )


def never_negative() -> Found:
    """Played back in order, no drawer ever falls below nothing."""
    on_hand: Counter[Place] = Counter()

    def play(lot: int, drawer: int, count: int) -> list[str]:
        on_hand[lot, drawer] += count
        return [] if on_hand[lot, drawer] >= 0 else [f"{_name((lot, drawer))} fell to {on_hand[lot, drawer]}"]

    rows = Movement.objects.order_by("pk").values_list("lot_id", "drawer_id", "count")
    return look("stock: never below nothing", (play(*row) for row in rows.iterator()))


LOOKS: tuple[Looker, ...] = (balances, holds, never_negative)
