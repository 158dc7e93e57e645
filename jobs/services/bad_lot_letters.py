"""Letters to the owners of sets that a bad lot is in: that they went out, what was answered. Rows are added, never changed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from inventory.models import BadLot
from jobs.models import BadLotLetter, LogEntry
from jobs.queries.bad_lots import TAKEN_BACK
from shop.acts import Refused, Stale
from shop.models import Customer, Staff


@dataclass(frozen=True, slots=True)
class Told:
    """The fitted parts a letter is about, the day it went, by which way."""

    entries: Sequence[LogEntry]
    on: date
    how: str


def address_of(owner: Customer) -> str:
    return "\n".join(part for part in (owner.name, owner.address.strip()) if part)[:300]


@transaction.atomic
def record_letters(
    found: Sequence[BadLot], told: Told, *, person: Staff, at: datetime, seen: int | None = None
) -> list[BadLotLetter]:
    """Write down that letters went out, a row a fitted part. `seen`: the last row that the page showed.

    A letter goes again where somebody wants it to, so a second one is no mistake.
    """
    by_lot = _lock(found, seen)
    _check(told.entries, by_lot, told.on, found[0], timezone.localdate(at))
    if not told.how.strip():
        raise Refused("Say how it was sent.", field="how")
    return [_row(by_lot[entry.lot_id or 0], entry, told.on, told.how, "", person, at) for entry in told.entries]


def _row(bad: BadLot, entry: LogEntry, on: date, how: str, answer: str, person: Staff, at: datetime) -> BadLotLetter:
    return BadLotLetter.objects.create(
        bad_lot=bad,
        entry=entry,
        sent_on=on,
        how=how.strip()[:80],
        to_whom=address_of(entry.job.radio.customer),
        answer=answer.strip()[:300],
        at=at,
        person=person,
    )


def last_row(found: Sequence[BadLot]) -> int:
    """What a page has seen of these letters: the key of the last row, 0 where there is none."""
    rows = BadLotLetter.objects.filter(bad_lot__in=found).order_by("-pk")
    return rows.values_list("pk", flat=True).first() or 0


def _lock(found: Sequence[BadLot], seen: int | None) -> dict[int, BadLot]:
    """By lot. The bad lots' rows stand in for their letters."""
    locked = {one.lot_id: one for one in BadLot.objects.select_for_update().filter(pk__in=[b.pk for b in found]).order_by("pk")}
    if seen is not None and seen != last_row(found):
        raise Stale(
            "Somebody else wrote a letter or an answer down since you opened this page. Look at it, then send yours again."
        )
    return locked


def _check(entries: Sequence[LogEntry], by_lot: dict[int, BadLot], on: date, first: BadLot, today: date) -> None:
    if not entries:
        raise Refused("Tick whom it went to.", field="entries")
    if any(entry.lot_id not in by_lot for entry in entries):
        raise Refused("One of these sets has no part of this lot in it. Load the page again.", field="entries")
    if on > today:
        raise Refused("That day lies ahead. Write it down once it is done.", field="on")
    if on < timezone.localdate(first.at):
        raise Refused("That lies before the lot was found bad.", field="on")


@transaction.atomic
def record_answer(
    found: Sequence[BadLot], told: Told, answer: str, *, person: Staff, at: datetime, seen: int | None = None
) -> list[BadLotLetter]:
    """What the owner answered, with the day and the way it came; also where nobody wrote, as owners call by themselves."""
    by_lot = _lock(found, seen)
    _check(told.entries, by_lot, told.on, found[0], timezone.localdate(at))
    if not answer.strip():
        raise Refused("Write what they answered, in a few words.", field="answer")
    if answer.strip() == TAKEN_BACK:
        raise Refused("Use the button beside the letter to say that it didn't go out.", field="answer")
    return [_row(by_lot[e.lot_id or 0], e, told.on, told.how or "told us", answer, person, at) for e in told.entries]


@transaction.atomic
def take_letters_back(found: Sequence[BadLot], entries: Sequence[LogEntry], *, person: Staff, at: datetime) -> None:
    """They didn't go out after all: a row each that says so, and these owners are to be told again."""
    by_lot, today = _lock(found, None), timezone.localdate(at)
    _check(entries, by_lot, today, found[0], today)
    for entry in entries:
        _row(by_lot[entry.lot_id or 0], entry, today, "", TAKEN_BACK, person, at)
