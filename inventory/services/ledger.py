"""The only code that writes movements, balances and holds. Each act is one transaction; inside another's it joins that."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db import connection, transaction
from django.db.models import F

from inventory.models import BadLot, Balance, Condition, Drawer, Hold, Lot, Movement, MovementKind, OrderLine, Part, Supplier
from inventory.services import card_sums
from shop.acts import Refused, Stale
from shop.models import Customer, Staff
from shop.prepared import Prepared, add, by_key, change, insert

MOST_AT_ONCE = 100_000


class NotEnough(Refused):
    """Fewer parts in the drawer than the act needs: somebody else took or held them."""


@dataclass(frozen=True, slots=True)
class Receipt:
    """Parts that came in together: what, how many, where to, at what cost for one (thousandths of a minor unit).

    `order_line` is what they were ordered on; `reason` stays with the movement, such as why more came than was ordered.
    `owner`: the customer whose own parts they are; such parts cost the shop nothing and came from no supplier.
    """

    part: Part
    drawer: Drawer
    count: int
    unit_cost_milli: int
    received_on: date
    supplier: Supplier | None = None
    date_code: str = ""
    condition: str = Condition.NEW
    note: str = ""
    order_line: OrderLine | None = None
    reason: str = ""
    owner: Customer | None = None


@dataclass(frozen=True, slots=True)
class LockedHold:
    """A hold that the running transaction has read and locked, so that it isn't asked for twice."""

    hold: Hold


def _check_count(count: int) -> None:
    if count < 1:
        raise Refused("The count must be at least 1.", field="count")
    if count > MOST_AT_ONCE:
        raise Refused(f"The count is above {MOST_AT_ONCE:,}; check for a slip of the finger.", field="count")


_LOCKED = Prepared(
    lambda lot, drawer: (
        Balance.objects.select_for_update(of=("self",))
        .filter(lot=lot, drawer=drawer)
        .annotate(blocked_reason=F("lot__blocked_reason"))
    )
)


def _balance(lot: Lot, drawer_id: int) -> Balance:
    """The locked balance row; made when the lot comes into this drawer for the first time. Its card is locked before it.

    It knows the `blocked_reason` that its lot has now.
    """
    card_sums.lock([lot.part_id])
    there = _LOCKED.first(lot.pk, drawer_id)
    if there is None:
        Balance.objects.get_or_create(lot_id=lot.pk, drawer_id=drawer_id)
        there = _LOCKED.get(lot.pk, drawer_id)
    return there


def _move(
    lot: Lot,
    drawer: Drawer,
    kind: str,
    count: int,
    *,
    person: Staff,
    at: datetime,
    reference: str = "",
    reason: str = "",
    locked: Balance | None = None,
) -> Movement:
    """Write one movement with its balance. `free` parts only: what is held for a job is not taken by another act.

    `locked`: the balance, where the act has locked it already.
    """
    balance = locked or _balance(lot, drawer.pk)
    if count < 0 and balance.free < -count:
        raise NotEnough(_short(lot, drawer, balance, -count), code="not_enough")
    add(Balance, balance.pk, on_hand=count)
    card_sums.moved(lot, on_hand=count)
    words = {"reference": reference[:60], "reason": reason[:200]}
    return insert(Movement(lot=lot, drawer=drawer, kind=kind, count=count, person=person, at=at, **words))


def _short(lot: Lot, drawer: Drawer, balance: Balance, wanted: int) -> str:
    last = Movement.objects.filter(lot=lot, drawer=drawer, count__lt=0).select_related("person").last()
    taker = ""
    if last is not None:
        for_what = f" for {last.reference}" if last.reference else ""
        taker = f" The last to take from it was {last.person}{for_what}."
    held = f", {balance.held} of them held for other jobs" if balance.held else ""
    return (
        f"Drawer {drawer} has {balance.on_hand} of {lot.part}{held}, and {wanted} {'is' if wanted == 1 else 'are'} wanted."
        f"{taker} Choose another lot or drawer, or take one from the buy list."
    )


@transaction.atomic
def receive(receipt: Receipt, *, person: Staff, at: datetime) -> Lot:
    """A lot comes in: lot, movement and balance. The supplier's return window is reckoned from the day it came."""
    _check_count(receipt.count)
    if receipt.unit_cost_milli < 0:
        raise Refused("The cost can't be negative.", field="unit_cost")
    if receipt.received_on > at.date() + timedelta(days=1):
        raise Refused("The day of receipt lies in the future.", field="received_on")
    if receipt.owner is not None and (receipt.unit_cost_milli or receipt.supplier or receipt.order_line):
        raise Refused("What a customer brought cost the shop nothing and came from no supplier. Empty both.", field="unit_cost")
    window = receipt.supplier.return_days if receipt.supplier else 0
    lot = Lot.objects.create(
        part=receipt.part,
        supplier=receipt.supplier,
        received_on=receipt.received_on,
        date_code=receipt.date_code,
        condition=receipt.condition,
        unit_cost_milli=receipt.unit_cost_milli,
        return_until_on=receipt.received_on + timedelta(days=window) if window else None,
        note=receipt.note,
        order_line=receipt.order_line,
        owner=receipt.owner,
    )
    _move(lot, receipt.drawer, MovementKind.RECEIVED, receipt.count, person=person, at=at, reason=receipt.reason)
    return lot


@transaction.atomic
def take(lot: Lot, drawer: Drawer, count: int, **facts: Any) -> Movement:
    """As `take_in_act`, where nothing else belongs to the act."""
    return take_in_act(lot, drawer, count, **facts)


def take_in_act(
    lot: Lot,
    drawer: Drawer,
    count: int,
    *,
    reference: str,
    person: Staff,
    at: datetime,
    hold: Hold | LockedHold | None = None,
    customer_id: int | None = None,
) -> Movement:
    """Take parts out of a drawer to fit them, in the transaction of the act. A hold of the same lot and drawer is used up first.

    `customer_id`: in whose set they go; a customer's own parts go in no other's.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("Parts are only taken inside the transaction of an act.")
    _check_count(count)
    _check_owner(lot, customer_id)
    if hold is not None:
        held = _now(hold)
        _end_hold(held, "fitted", at, lot if held.lot_id == lot.pk else None)
    balance = _balance(lot, drawer.pk)
    _check_not_blocked(balance)
    return _move(lot, drawer, MovementKind.FITTED, -count, person=person, at=at, reference=reference, locked=balance)


def _check_not_blocked(balance: Balance) -> None:
    reason = balance.blocked_reason  # type: ignore[attr-defined]
    if reason:
        raise Refused(f"This lot is blocked: {reason}. Choose a part of another lot.", code="blocked")


def _check_owner(lot: Lot, customer_id: int | None) -> None:
    if lot.owner is not None and lot.owner_id != customer_id:
        raise Refused(
            f"These are {lot.owner}'s own parts and go into no other customer's set. Choose a part of another lot.",
            code="not_ours",
        )


@transaction.atomic
def give_back(lot: Lot, drawer: Drawer, count: int, *, person: Staff, at: datetime, reference: str = "") -> Movement:
    """Unused parts go back to the customer whose they are."""
    _check_count(count)
    if lot.owner is None:
        raise Refused("These parts are the shop's own; only what a customer brought is given back to one.", code="ours")
    reason = f"given back to {lot.owner}"
    return _move(lot, drawer, MovementKind.SENT_BACK, -count, person=person, at=at, reference=reference, reason=reason)


@transaction.atomic
def not_given_back(given: Movement, *, person: Staff, at: datetime) -> Movement:
    """Takes a giving back by mistake back: the parts lie where they lay."""
    if given.lot.owner_id is None or given.kind != MovementKind.SENT_BACK or given.count >= 0:
        raise Refused("This movement gave nothing back to a customer.", code="ours")
    reason = f"not given back after all: movement {given.pk}"
    if Movement.objects.filter(lot=given.lot, drawer=given.drawer, reason=reason).exists():
        raise Stale("That was taken back already. Load the page again to see what lies here.")
    return _move(
        given.lot, given.drawer, given.kind, -given.count, person=person, at=at, reference=given.reference, reason=reason
    )


@transaction.atomic
def put_back(movement: Movement, *, reason: str, reference: str, person: Staff, at: datetime) -> Movement:
    """A part taken out of a set goes back to the lot and drawer it came from."""
    return _move(
        movement.lot,
        movement.drawer,
        MovementKind.TAKEN_OUT,
        -movement.count,
        person=person,
        at=at,
        reason=reason,
        reference=reference,
    )


@transaction.atomic
def scrap(lot: Lot, drawer: Drawer, count: int, *, reason: str, person: Staff, at: datetime, reference: str = "") -> Movement:
    _check_count(count)
    _need_reason(reason)
    return _move(lot, drawer, MovementKind.SCRAPPED, -count, person=person, at=at, reason=reason, reference=reference)


@transaction.atomic
def send_back(lot: Lot, drawer: Drawer, count: int, *, reason: str, person: Staff, at: datetime) -> Movement:
    _check_count(count)
    _need_reason(reason)
    if lot.owner is not None:
        raise Refused(f"These are {lot.owner}'s own parts. Give them back to the customer instead.", code="not_ours")
    if lot.supplier_id is None:
        raise Refused("No supplier is written down for this lot, so it can't go back to one. Scrap it instead.")
    return _move(lot, drawer, MovementKind.SENT_BACK, -count, person=person, at=at, reason=reason)


@transaction.atomic
def transfer(
    lot: Lot, source: Drawer, target: Drawer, count: int, *, person: Staff, at: datetime, reason: str = ""
) -> tuple[Movement, Movement]:
    _check_count(count)
    if source.pk == target.pk:
        raise Refused("Both drawers are the same one.", field="target")
    why = f": {reason.strip()}" if reason.strip() else ""
    out = _move(lot, source, MovementKind.MOVED_OUT, -count, person=person, at=at, reason=f"to {target}{why}")
    into = _move(lot, target, MovementKind.MOVED_IN, count, person=person, at=at, reason=f"from {source}{why}")
    return out, into


@transaction.atomic
def count_drawer(
    lot: Lot, drawer: Drawer, counted: int, *, reason: str, person: Staff, at: datetime, seen: int | None = None
) -> Movement | None:
    """Set a lot's on-hand to what was counted. No movement where the count agrees; a count below what is held is refused.

    `seen` is the on-hand that the counting person was shown: parts that came or went since then may or may not be in the count.
    """
    if not 0 <= counted <= MOST_AT_ONCE:
        raise Refused(f"The count must be from 0 to {MOST_AT_ONCE:,}.", field="counted")
    balance = _balance(lot, drawer.pk)
    if seen is not None and seen != balance.on_hand:
        raise Stale(f"While you counted, the drawer went from {seen} to {balance.on_hand}. Count once more and send again.")
    variance = counted - balance.on_hand
    if variance == 0:
        return None
    if not reason.strip():
        differs = f"{abs(variance)} {'more' if variance > 0 else 'fewer'} than the ledger says"
        raise Refused(f"That is {differs}. Count once more, or say why it differs.", field="reason", code="differs")
    if counted < balance.held:
        raise Refused(
            f"{balance.held} of these are held for jobs, so the drawer can't be counted down to {counted}. Let a hold go first.",
            field="counted",
        )
    return _move(lot, drawer, MovementKind.COUNTED, variance, person=person, at=at, reason=reason)


@transaction.atomic
def hold(
    lot: Lot, drawer: Drawer, count: int, *, reference: str, person: Staff, at: datetime, customer_id: int | None = None
) -> Hold:
    """Keep parts for a job; they stay in the drawer and nobody else can take them. `customer_id`: whose job it is."""
    _check_count(count)
    _check_owner(lot, customer_id)
    balance = _balance(lot, drawer.pk)
    _check_not_blocked(balance)
    if balance.free < count:
        raise NotEnough(_short(lot, drawer, balance, count), code="not_enough")
    add(Balance, balance.pk, held=count)
    card_sums.moved(lot, held=count)
    return insert(Hold(lot=lot, drawer=drawer, count=count, reference=reference, person=person, at=at))


@transaction.atomic
def release_hold(held: Hold | LockedHold, *, at: datetime) -> None:
    _end_hold(_now(held), "let go", at)


_HELD, _LOT = by_key(Hold, lock=True), by_key(Lot)


def locked_hold(key: int) -> LockedHold:
    return LockedHold(_HELD.get(key))


def _now(held: Hold | LockedHold) -> Hold:
    return held.hold if isinstance(held, LockedHold) else _HELD.get(held.pk)


def _end_hold(current: Hold, why: str, at: datetime, lot: Lot | None = None) -> None:
    # Only the hold itself is locked, as ever: its lot is locked by its own acts.
    if current.ended_at is not None:
        raise Refused("This hold has ended already. Load the page again to see what is in the drawer now.", code="hold_ended")
    current.lot = lot or _LOT.get(current.lot_id)
    balance = _balance(current.lot, current.drawer_id)
    add(Balance, balance.pk, held=-current.count)
    card_sums.moved(current.lot, held=-current.count)
    current.ended_at, current.ended_why = at, why
    change(Hold, current.pk, ended_at=at, ended_why=why)


@transaction.atomic
def block_lot(lot: Lot, reason: str) -> None:
    """Nothing of this lot is fitted any more; an empty reason lets it go again, unless the lot was found bad."""
    if not reason and BadLot.objects.filter(lot=lot, lifted_at__isnull=True).exists():
        raise Refused("This lot was found bad. Lift that on the bad lot's page, with the reason.", code="found_bad")
    Lot.objects.filter(pk=lot.pk).update(blocked_reason=reason[:200])


def _need_reason(reason: str) -> None:
    if not reason.strip():
        raise Refused("Say why, in a few words.", field="reason")
