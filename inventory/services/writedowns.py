"""Writes what a lot would fetch, where that is less than it cost, and writes it back up."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from inventory.models import Lot, Writedown
from shop.acts import Refused, Stale
from shop.models import Profile, Staff
from shop.money import show_fine


@dataclass(frozen=True, slots=True)
class Judged:
    """From `from_on`, one of the lot is worth no more than `unit_milli` (thousandths of a minor unit). At its cost: back up."""

    unit_milli: int
    from_on: date
    reason: str


def writedown_seen(lot: Lot) -> int:
    """The last write-down of a lot; 0 where it never had one."""
    return lot.writedowns.order_by("-pk").values_list("pk", flat=True).first() or 0  # type: ignore[attr-defined]


@transaction.atomic
def write_down(lot: Lot, judged: Judged, *, seen: int, person: Staff, at: datetime) -> Writedown:
    """A row is added, none is changed: what earlier days were valued at stays. Back up goes to the cost at most (IAS 2, 33)."""
    current = Lot.objects.select_for_update().get(pk=lot.pk)
    if writedown_seen(current) != seen:
        raise Stale("Somebody else wrote this lot down or up since you opened it. Compare, then send again.")
    _check(current, judged, timezone.localdate(at))
    return Writedown.objects.create(
        lot=current,
        unit_milli=judged.unit_milli,
        from_on=judged.from_on,
        reason=judged.reason.strip()[:200],
        at=at,
        person=person,
    )


def _check(lot: Lot, judged: Judged, today: date) -> None:
    if not judged.reason.strip():
        raise Refused("Say why, in a few words: whoever checks the year's end asks.", field="reason")
    if judged.unit_milli > lot.unit_cost_milli:
        terms = Profile.current() or Profile()
        cost = show_fine(lot.unit_cost_milli, terms.currency, terms.locale)
        raise Refused(f"One of this lot cost {cost}, and stock is never valued above its cost. Type that or less.", field="unit")
    if judged.from_on > today:
        raise Refused("That day is still to come. Write the lot down when it is there.", field="from_on")
    if judged.from_on < lot.received_on:
        raise Refused("The lot came in later than that. Choose a day from when it was here.", field="from_on")
