"""Valves kept as individuals: set apart from their lot under a mark of their own, tested, matched; pictures of lots.

An individual is a lot of one. So whatever holds for lots, from holds over fitting to the supplier's window and the warranty,
holds for it without another word; its movements say that it was set apart, and the cost goes with it.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from inventory.models import Balance, Drawer, Lot, LotPhoto, MatchedSet, MovementKind, ValveTest, ValveTester, ValveVerdict
from inventory.services import card_sums
from inventory.services.ledger import _check_count, _move
from shop.acts import Refused, Stale
from shop.forms.seen import seen_of
from shop.models import Staff
from shop.pictures import Picture, keep_picture
from shop.search_text import fold

MARK = re.compile(r"\S{1,20}")
MOST_APART = 50
_GOES_WITH_IT = (
    "part", "supplier", "received_on", "date_code", "condition", "unit_cost_milli", "return_until_on", "blocked_reason", "note",
    "owner",
)  # fmt: skip


def next_marks(count: int) -> list[str]:
    """Marks that nobody bears yet, counted up: V1, V2 …"""
    taken = (re.fullmatch(r"V(\d{1,9})", mark) for mark in Lot.objects.exclude(mark="").values_list("mark", flat=True))
    last = max((int(found.group(1)) for found in taken if found), default=0)
    return [f"V{number}" for number in range(last + 1, last + 1 + count)]


@transaction.atomic
def set_apart(lot: Lot, drawer: Drawer, marks: Sequence[str], *, person: Staff, at: datetime) -> list[Lot]:
    """Take pieces of a lot as individuals: one lot of one for each mark, in the same drawer, at the cost it came in at."""
    _check_count(len(marks))
    card_sums.lock([lot.part_id])
    current = Lot.objects.select_for_update().get(pk=lot.pk)
    if current.is_individual:
        raise Refused(f"{current.mark} is an individual already.", code="individual")
    if len(marks) > MOST_APART:
        raise Refused(f"{MOST_APART} at a time are the most.", field="marks")
    _check_marks(marks)
    _move(current, drawer, MovementKind.SPLIT_OUT, -len(marks), person=person, at=at, reason=", ".join(marks)[:200])
    return [_one(current, drawer, mark, person, at) for mark in marks]


def _one(lot: Lot, drawer: Drawer, mark: str, person: Staff, at: datetime) -> Lot:
    made = Lot.objects.create(mark=mark, split_from=lot, **{name: getattr(lot, name) for name in _GOES_WITH_IT})
    _move(made, drawer, MovementKind.SPLIT_IN, 1, person=person, at=at, reason=f"from lot {lot.pk}")
    return made


def _check_marks(marks: Sequence[str]) -> None:
    for mark in marks:
        if not MARK.fullmatch(mark):
            raise Refused(f"“{mark[:20]}” can't be a mark: up to 20 signs without a space.", field="marks")
    taken = {fold(mark): mark for mark in Lot.objects.exclude(mark="").values_list("mark", flat=True)}
    if (known := next((taken[fold(mark)] for mark in marks if fold(mark) in taken), None)) is not None:
        raise Refused(f"There is an individual {known} already. Choose another mark.", field="marks", code="taken")
    if len({fold(mark) for mark in marks}) < len(marks):
        raise Refused("Two of the marks are the same.", field="marks", code="taken")


@dataclass(frozen=True, slots=True)
class TesterFacts:
    name: str
    calibrated_on: date | None = None
    note: str = ""
    in_use: bool = True


def tester_seen(tester: ValveTester) -> int:
    return seen_of((tester.name, str(tester.calibrated_on), tester.note, tester.in_use))


def _check_tester(facts: TesterFacts, today: date, but: ValveTester | None = None) -> None:
    if facts.calibrated_on is not None and facts.calibrated_on > today:
        raise Refused("The day of calibration lies in the future.", field="calibrated_on")
    if any(fold(known.name) == fold(facts.name) and known != but for known in ValveTester.objects.all()):
        raise Refused(f"There is a tester called {facts.name} already.", field="name", code="known")


@transaction.atomic
def add_tester(facts: TesterFacts, *, today: date) -> ValveTester:
    _check_tester(facts, today)
    return ValveTester.objects.create(
        name=facts.name, calibrated_on=facts.calibrated_on, note=facts.note[:200], in_use=facts.in_use
    )


@transaction.atomic
def change_tester(tester: ValveTester, facts: TesterFacts, *, today: date, seen: int) -> ValveTester:
    """Readings that were taken keep the calibration they were taken under."""
    current = ValveTester.objects.select_for_update().get(pk=tester.pk)
    if tester_seen(current) != seen:
        raise Stale("Somebody else changed this tester since you opened it. Compare, then send again.")
    _check_tester(facts, today, current)
    current.name, current.calibrated_on = facts.name, facts.calibrated_on
    current.note, current.in_use = facts.note[:200], facts.in_use
    current.save()
    return current


@dataclass(frozen=True, slots=True)
class Tested:
    """What a tester showed. `percent` of a new valve, where the tester tells it so."""

    tester: ValveTester
    reading: str
    verdict: str
    tested_on: date
    percent: int | None = None
    note: str = ""


@transaction.atomic
def record_test(lot: Lot, tested: Tested, *, person: Staff, at: datetime) -> ValveTest:
    """Write a reading down. Only an individual bears one: of a lot of many nobody would know which was tested."""
    if not lot.is_individual:
        raise Refused("Set the valve apart under a mark first: a reading belongs to one valve.", code="not_apart")
    if not tested.reading.strip():
        raise Refused("Type what the tester showed.", field="reading")
    if tested.verdict not in ValveVerdict.values:
        raise Refused("Choose a verdict.", field="verdict")
    if tested.tested_on > at.date():
        raise Refused("The day of the test lies in the future.", field="tested_on")
    return ValveTest.objects.create(
        lot=lot,
        tester=tested.tester,
        tester_name=tested.tester.name,
        calibrated_on=tested.tester.calibrated_on,
        reading=tested.reading.strip()[:160],
        percent_of_new=tested.percent,
        verdict=tested.verdict,
        note=tested.note.strip()[:200],
        tested_on=tested.tested_on,
        at=at,
        person=person,
    )


@transaction.atomic
def match(lots: Sequence[Lot], note: str, *, person: Staff, at: datetime) -> MatchedSet:
    """Keep individuals of one part together as a matched pair, quartet or more."""
    current = list(Lot.objects.select_for_update().filter(pk__in=[lot.pk for lot in lots]).order_by("pk"))
    if len(current) < 2:
        raise Refused("Two valves at least make a matched set.", field="lots")
    if any(not lot.is_individual for lot in current):
        raise Refused("Set the valves apart under marks first.", field="lots")
    if len({lot.part_id for lot in current}) > 1:
        raise Refused("Valves of different types aren't matched to each other.", field="lots")
    if (taken := next((lot for lot in current if lot.matched_id is not None), None)) is not None:
        raise Refused(f"{taken.mark} is matched already. Part that set first.", field="lots", code="matched")
    if not note.strip():
        raise Refused("Say by what they are matched: the readings, or who matched them.", field="note")
    if Balance.objects.filter(lot__in=current, on_hand__gt=0).count() < len(current):
        raise Refused("One of them isn't in a drawer any more.", field="lots")
    made = MatchedSet.objects.create(note=note.strip()[:200], at=at, person=person)
    Lot.objects.filter(pk__in=[lot.pk for lot in current]).update(matched=made)
    return made


@transaction.atomic
def part_set(matched: MatchedSet, reason: str, *, at: datetime) -> None:
    """A matched set is one no more: each valve may go its own way. The set and why it was parted stay on record."""
    current = MatchedSet.objects.select_for_update().get(pk=matched.pk)
    if current.parted_at is not None:
        raise Stale("This set was parted already.", code="parted")
    if not reason.strip():
        raise Refused("Say why the set is parted.", field="reason")
    current.parted_at, current.parted_why = at, reason.strip()[:200]
    current.save(update_fields=["parted_at", "parted_why"])
    current.lots.update(matched=None)  # type: ignore[attr-defined]


@transaction.atomic
def add_lot_photo(lot: Lot, picture: Picture, *, person: Staff, at: datetime, caption: str = "") -> LotPhoto:
    photo = LotPhoto(lot=lot, caption=caption[:160], at=at, person=person)
    keep_picture(photo.image, picture)
    photo.save()
    return photo
