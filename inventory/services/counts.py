"""Blind counts: what lies in a drawer is entered before the ledger's figure is shown; what differs is booked with a reason.

A count takes hours and the bench goes on. So each lot of it remembers the last movement that was there when it was put on the
list: where parts came or went since, nobody can say whether the count has them, and that lot is counted once more.
"""

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from inventory.models import Balance, CountedLot, Drawer, DrawerCount, Lot, Movement
from inventory.services import card_sums
from inventory.services.ledger import MOST_AT_ONCE, count_drawer
from shop.acts import Refused, Stale
from shop.models import Staff

STALE = "Somebody else went on with this count since you opened it. Look at it as it is now, then go on."


def _last_movement(lot: Lot, drawer: Drawer) -> Movement | None:
    return Movement.objects.filter(lot=lot, drawer=drawer).order_by("-pk").first()


@transaction.atomic
def open_count(drawer: Drawer, *, person: Staff, at: datetime) -> DrawerCount:
    """Begin a count of a drawer, or find the one that is open already."""
    place = Drawer.objects.select_for_update().get(pk=drawer.pk)
    current = DrawerCount.objects.filter(drawer=place, booked_at__isnull=True, dropped_at__isnull=True).first()
    if current is None:
        current = DrawerCount.objects.create(drawer=place, opened_at=at, opened_by=person)
        _list_lots(current)
    return current


def _list_lots(count: DrawerCount) -> None:
    """Put every lot on the list that lies in the drawer and isn't on it yet."""
    listed = set(count.lots.values_list("lot_id", flat=True))  # type: ignore[attr-defined]
    there = Balance.objects.filter(drawer=count.drawer, on_hand__gt=0).exclude(lot__in=listed).select_related("lot")
    lots = [one.lot for one in there.order_by("lot__part__kind", "lot__part__value_si", "lot__part__marking", "lot_id")]
    CountedLot.objects.bulk_create(
        CountedLot(count=count, lot=lot, last_movement=_last_movement(lot, count.drawer)) for lot in lots
    )


def _open(count: DrawerCount, seen: int | None) -> DrawerCount:
    current = DrawerCount.objects.select_for_update().get(pk=count.pk)
    if not current.is_open:
        raise Stale("This count was booked or dropped already. Begin a new one.", code="closed")
    if seen is not None and current.version != seen:
        raise Stale(STALE, code="stale")
    return current


def _moved_on(count: DrawerCount) -> None:
    count.version += 1
    count.save()


@transaction.atomic
def add_found(count: DrawerCount, lot: Lot, *, seen: int | None = None) -> CountedLot:
    """A lot lies in the drawer that the ledger doesn't place there: it goes on the list with nothing expected."""
    current = _open(count, seen)
    if current.lots.filter(lot=lot).exists():  # type: ignore[attr-defined]
        raise Refused(f"Lot {lot.pk} is on the list already.", field="lot", code="listed")
    line = CountedLot.objects.create(count=current, lot=lot, last_movement=_last_movement(lot, current.drawer))
    current.counted_at = None
    _moved_on(current)
    return line


@transaction.atomic
def enter(count: DrawerCount, entered: Mapping[int, int], *, at: datetime, seen: int | None = None) -> int:
    """Write down what was counted, by the lot's number; gives how many lots must be counted once more.

    None left: the count is complete and its variances may be looked at.
    """
    current = _open(count, seen)
    for line in current.lots.select_related("lot"):  # type: ignore[attr-defined]
        _enter_line(current, line, entered)
    _list_lots(current)
    left = current.lots.filter(counted__isnull=True).count()  # type: ignore[attr-defined]
    current.counted_at = None if left else at
    _moved_on(current)
    return int(left)


def _enter_line(count: DrawerCount, line: CountedLot, entered: Mapping[int, int]) -> None:
    counted = entered.get(line.lot_id)
    if counted is None:
        return
    if not 0 <= counted <= MOST_AT_ONCE:
        raise Refused(f"The count of lot {line.lot_id} must be from 0 to {MOST_AT_ONCE:,}.", field=f"lot_{line.lot_id}")
    last = _last_movement(line.lot, count.drawer)
    as_listed = (last.pk if last else None) == line.last_movement_id
    balance = Balance.objects.filter(lot=line.lot, drawer=count.drawer).first()
    line.last_movement = last
    line.counted = counted if as_listed else None
    line.expected = (balance.on_hand if balance else 0) if as_listed else None
    line.save(update_fields=["last_movement", "counted", "expected"])


@transaction.atomic
def count_again(count: DrawerCount, lots: set[int] | None = None, *, seen: int | None = None) -> None:
    """Take back what was entered, of some lots or of all, before anything is booked."""
    current = _open(count, seen)
    lines = current.lots.filter(lot__in=lots) if lots else current.lots.all()  # type: ignore[attr-defined]
    for line in lines.select_related("lot"):
        line.counted = line.expected = None
        line.last_movement = _last_movement(line.lot, current.drawer)
        line.save(update_fields=["counted", "expected", "last_movement"])
    current.counted_at = None
    _moved_on(current)


@transaction.atomic
def book_count(
    count: DrawerCount, reasons: Mapping[int, str], *, person: Staff, at: datetime, seen: int | None = None
) -> list[Movement]:
    """Book every variance with its reason, by the lot's number; what agrees moves nothing. The count is closed then."""
    current = _open(count, seen)
    if current.counted_at is None:
        raise Refused("Something on the list isn't counted yet. Enter it first.", code="not_counted")
    lines = list(current.lots.select_related("lot"))  # type: ignore[attr-defined]
    card_sums.lock(line.lot.part_id for line in lines)
    moved = [_book_line(current, line, reasons.get(line.lot_id, ""), person, at) for line in lines]
    current.booked_at, current.booked_by = at, person
    _moved_on(current)
    return [one for one in moved if one is not None]


def _book_line(count: DrawerCount, line: CountedLot, reason: str, person: Staff, at: datetime) -> Movement | None:
    if line.counted is None or line.expected is None:
        raise Refused("Something on the list isn't counted yet. Enter it first.", code="not_counted")
    if line.counted != line.expected and not reason.strip():
        raise Refused(f"Say why the count of lot {line.lot_id} differs.", field=f"why_{line.lot_id}")
    try:
        movement = count_drawer(line.lot, count.drawer, line.counted, reason=reason, person=person, at=at, seen=line.expected)
    except Stale as stale:
        raise Stale(
            f"Parts of lot {line.lot_id} came or went since it was counted. Count that lot once more.", code="moved"
        ) from stale
    except Refused as refused:
        raise Refused(f"Lot {line.lot_id}: {refused.message}", code=refused.code) from refused
    line.movement, line.reason = movement, reason.strip()[:200]
    line.save(update_fields=["movement", "reason"])
    return movement


@transaction.atomic
def drop_count(count: DrawerCount, *, at: datetime, seen: int | None = None) -> None:
    """Give a count up; nothing of it is booked."""
    current = _open(count, seen)
    current.dropped_at = at
    _moved_on(current)
