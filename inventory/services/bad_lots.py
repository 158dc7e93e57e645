"""Finds a lot bad and lifts it again. Nothing of a bad lot is fitted, whether it lies free or is held for a job."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from inventory.models import BadLot, Lot
from inventory.queries.bad_lots import found_together, open_bad, suspects_of
from inventory.services.ledger import block_lot
from shop.acts import Refused, Stale
from shop.models import Staff

LONGEST_WHY, LONGEST_WORDS = 200, 300
# What a lot was blocked for already stands behind it, and is left when the finding is lifted.
BEFORE = "; blocked before: "


@dataclass(frozen=True, slots=True)
class Finding:
    """What is wrong, what may happen in a set, what its owner is told to do; `reference` is the job that showed it."""

    why: str
    danger: str = ""
    advice: str = ""
    reference: str = ""


@transaction.atomic
def find_bad(lot: Lot, finding: Finding, *, person: Staff, at: datetime, also: Sequence[Lot] = ()) -> BadLot:
    """Block the lot, and those of `also`, at once. Jobs that hold parts of it keep their holds and must plan anew.

    `also` may name suspects only. Lots are locked in the order of their keys: two findings at once never wait for each other.
    """
    if not finding.why.strip():
        raise Refused("Say what is wrong with it, in a few words.", field="why")
    _check_also(lot, also)
    locked = list(Lot.objects.select_for_update().filter(pk__in={lot.pk, *(one.pk for one in also)}).order_by("pk"))
    found = {one.pk: _find(one, finding, person, at) for one in sorted(locked, key=lambda one: one.pk != lot.pk)}
    return found[lot.pk]


def _check_also(lot: Lot, also: Sequence[Lot]) -> None:
    known = {one.lot.pk for one in suspects_of(lot)}
    if stray := next((one for one in also if one.pk not in known), None):
        raise Refused(f"Lot {stray.pk} is no relative of this lot, or was found bad already. Look at it by itself.", field="also")


def _find(lot: Lot, finding: Finding, person: Staff, at: datetime) -> BadLot:
    before = open_bad(lot)
    if before is not None:
        raise Refused(f"Lot {lot.pk} was found bad already: {before.why}. Its page lists the sets it is in.", code="known")
    why = finding.why.strip()[:LONGEST_WHY]
    block_lot(lot, f"{why}{BEFORE}{lot.blocked_reason}" if lot.blocked_reason else why)
    return BadLot.objects.create(
        lot=lot,
        why=why,
        danger=finding.danger.strip()[:LONGEST_WORDS],
        advice=finding.advice.strip()[:LONGEST_WORDS],
        reference=finding.reference.strip()[:60],
        at=at,
        person=person,
    )


@transaction.atomic
def lift(bad: BadLot, why: str, *, person: Staff, at: datetime, seen: int | None = None) -> list[BadLot]:
    """The lot may be fitted again, with a reason; so may all that were found bad in the same act.

    The owner lifts; whoever found it may take it back on the same day, as the undo of a slip.
    """
    if not why.strip():
        raise Refused("Say why it may be fitted again, in a few words.", field="why")
    group = list(BadLot.objects.select_for_update().filter(pk__in=[one.pk for one in found_together(bad)]).order_by("pk"))
    standing = [one for one in group if one.lifted_at is None]
    if seen is not None and seen != max(one.version for one in group):
        raise Stale("Somebody else changed this since you opened the page. Look at it, then send again.")
    if not standing:
        raise Refused("This was lifted already.", code="lifted")
    _check_may_lift(standing[0], person, at)
    for one in standing:
        one.lifted_at, one.lifted_by, one.lifted_why = at, person, why.strip()[:LONGEST_WHY]
        one.version += 1
        one.save(update_fields=["lifted_at", "lifted_by", "lifted_why", "version"])
    for one in standing:
        _let_go(one)
    return standing


def _check_may_lift(bad: BadLot, person: Staff, at: datetime) -> None:
    by_mistake = bad.person_id == person.pk and timezone.localdate(bad.at) == timezone.localdate(at)
    if not (person.is_owner or by_mistake):
        raise Refused("Only the owner lets a bad lot be fitted again. Tell them why it is sound.", code="not_yours")


def _let_go(bad: BadLot) -> None:
    """Individuals set apart from it meanwhile inherited its block, and lose it with it."""
    lot = Lot.objects.get(pk=bad.lot_id)
    before = lot.blocked_reason.partition(BEFORE)[2]
    for one in [lot, *Lot.objects.filter(split_from=lot.pk, blocked_reason=lot.blocked_reason)]:
        if open_bad(one) is None:
            block_lot(one, before)
