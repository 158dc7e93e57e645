"""Stock derived again from its ledger: balances, holds, that no drawer ever held less than nothing; orders from their lots."""

from collections import Counter
from collections.abc import Iterator

from django.db.models import Sum

from inventory.models import (
    BadLot,
    Balance,
    Hold,
    Lot,
    Movement,
    MovementKind,
    Order,
    OrderLine,
    OrderState,
    Part,
    SupplierClaim,
    SupplierClaimStep,
)
from inventory.queries.on_order import with_received
from inventory.queries.supplier_claims import ASKED, GIVEN_UP, REPLACED, credited_by
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


def card_sums() -> Found:
    """What lies of every lot, and of every part with what is held of it, is the sum of its balances."""
    of_lot: Counter[int] = Counter()
    of_part: Counter[int] = Counter()
    held: Counter[int] = Counter()
    rows = Balance.objects.values_list("lot_id", "lot__part_id", "lot__owner_id", "on_hand", "held")
    for lot, part, owner, count, kept in rows.iterator():
        of_lot[lot] += count
        if owner is None:
            of_part[part] += count
            held[part] += kept
    lots = (differ(f"on hand of lot {pk}", said, of_lot[pk]) for pk, said in Lot.objects.values_list("pk", "on_hand").iterator())
    parts = (
        differ(f"on hand and held of {one.marking}", f"{one.on_hand}, {one.held}", f"{of_part[one.pk]}, {held[one.pk]}")
        for one in Part.objects.only("pk", "marking", "on_hand", "held").iterator()
    )
    return look("stock: cards say what their balances sum to", (*lots, *parts))


def never_negative() -> Found:
    """Played back in order, no drawer ever falls below nothing."""
    on_hand: Counter[Place] = Counter()

    def play(lot: int, drawer: int, count: int) -> list[str]:
        on_hand[lot, drawer] += count
        return [] if on_hand[lot, drawer] >= 0 else [f"{_name((lot, drawer))} fell to {on_hand[lot, drawer]}"]

    rows = Movement.objects.order_by("pk").values_list("lot_id", "drawer_id", "count")
    return look("stock: never below nothing", (play(*row) for row in rows.iterator()))


def orders() -> Found:
    """An order that was sent has its number and is open exactly while something on it is still to come."""
    lines: dict[int, list[OrderLine]] = {}
    for line in with_received(OrderLine.objects.all()):
        lines.setdefault(line.order_id, []).append(line)
    return look(
        "orders: open while something is to come", (_order_differs(one, lines.get(one.pk, [])) for one in Order.objects.all())
    )


def _order_differs(order: Order, lines: list[OrderLine]) -> Iterator[str]:
    was_sent = order.state in (OrderState.SENT, OrderState.CLOSED)
    name = order.number or f"draft {order.pk}"
    yield from differ(f"number of {name} given", bool(order.number), was_sent)
    came = sum(line.received for line in lines)  # type: ignore[attr-defined]
    if not was_sent and came:
        yield f"{came} came in on {name}, which was never sent"
    if was_sent:
        coming = any(line.coming > 0 for line in lines)  # type: ignore[attr-defined]
        yield from differ(f"{name} open", order.state == OrderState.SENT, coming)


def lots_on_orders() -> Found:
    """What came in on a line of an order is the part that was ordered there, from the supplier of the order."""
    lots = Lot.objects.filter(order_line__isnull=False).select_related("order_line__order")
    return look("orders: lots are of the ordered part", (_lot_differs(one) for one in lots))


def _lot_differs(lot: Lot) -> Iterator[str]:
    if lot.order_line is not None:
        yield from differ(f"part of lot {lot.pk}", lot.part_id, lot.order_line.part_id)
        yield from differ(f"supplier of lot {lot.pk}", lot.supplier_id, lot.order_line.order.supplier_id)


def bad_lots() -> Found:
    """Nothing can be taken from a lot that was found bad and not lifted."""
    stands = BadLot.objects.filter(lifted_at__isnull=True).select_related("lot")
    return look("bad lots: blocked while they stand", (_bad_differs(one) for one in stands))


def _bad_differs(bad: BadLot) -> list[str]:
    return [] if bad.lot.blocked_reason else [f"lot {bad.lot_id} was found bad and isn't blocked"]


def supplier_claims() -> Found:
    """Every claim was asked first, ends with a replacement, never got less than nothing back; none claims more than came."""
    steps: dict[int, list[SupplierClaimStep]] = {}
    for step in SupplierClaimStep.objects.order_by("pk"):
        steps.setdefault(step.claim_id, []).append(step)
    # What was set apart later came with the lot all the same.
    came = (
        Movement.objects.filter(kind__in=(MovementKind.RECEIVED, MovementKind.SPLIT_IN))
        .order_by()
        .values_list("lot_id")
        .annotate(Sum("count"))
    )
    claims, claimed = list(SupplierClaim.objects.all()), Counter[int]()
    for claim in claims:
        if steps.get(claim.pk) and steps[claim.pk][-1].kind not in GIVEN_UP:
            claimed[claim.lot_id] += claim.count
    of_claims = (_claim_differs(one, steps.get(one.pk, [])) for one in claims)
    of_lots = (_too_many(lot, claimed[lot], count) for lot, count in came if claimed[lot] > count)
    return look("claims on suppliers: steps and counts", (*of_claims, *of_lots))


def _claim_differs(claim: SupplierClaim, steps: list[SupplierClaimStep]) -> Iterator[str]:
    name = f"claim {claim.pk} on lot {claim.lot_id}"
    if not steps or steps[0].kind != ASKED:
        yield f"{name} was never asked"
    if any(step.kind == REPLACED for step in steps[:-1]):
        yield f"{name} went on after other parts came"
    if credited_by(steps) < 0:
        yield f"{name} got less than nothing back"


def _too_many(lot: int, claimed: int, came: int) -> list[str]:
    return [f"{claimed} of lot {lot} are claimed and {came} came"]


LOOKS: tuple[Looker, ...] = (balances, holds, card_sums, never_negative, orders, lots_on_orders, bad_lots, supplier_claims)
