"""Every set that a bad lot is or was in, the most dangerous first: whose it is, what may happen, what is covered, who was told.

Lots that were found bad in one act are read together. The number of queries doesn't follow the number of sets.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from django.db.models import Count, Exists, F, OuterRef, Prefetch, Q, QuerySet, Sum

from inventory.models import BadLot, Lot
from inventory.queries.bad_lots import Lying, found_with, leaders, lying_of
from inventory.valuation import coins
from jobs.bench.part_risks import Risk, risk_of
from jobs.models import BadLotLetter, EntryKind, Job, LabourEntry, LogEntry, Step, WarrantyLine
from shop.models import Customer, Profile

# What replacing one part takes where the job's own hours don't say it: common practice, no source.
GUESSED_MINUTES = 30
# An answer row with this text says that the letter didn't go out after all.
TAKEN_BACK = "The letter didn’t go out after all."


def fits_of(lots: "Iterable[Lot] | QuerySet[Lot]") -> "QuerySet[LogEntry]":
    """Parts of these lots as they were fitted. Adds `is_replaced` (a later job fitted that place), `is_here` (the set is in)."""
    fitted = LogEntry.objects.filter(kind=EntryKind.FITTED)
    same_place = {"job__radio": OuterRef("job__radio"), "position__designator": OuterRef("position__designator")}
    later = fitted.filter(**same_place, job__gt=OuterRef("job"), taken_out_by__isnull=True)
    here = Job.objects.open().filter(radio=OuterRef("job__radio"))
    # By their keys: a planner can't know how few of the log name a lot, and would walk all jobs for them.
    of_lots = fitted.filter(lot__in=lots).order_by().values("pk")
    return fitted.filter(pk__in=of_lots).annotate(is_replaced=Exists(later), is_here=Exists(here))


def to_be_told(fits: "QuerySet[LogEntry]") -> "QuerySet[LogEntry]":
    """Those still in a set that stands with its owner, whom no letter went to."""
    letters = BadLotLetter.objects.filter(entry=OuterRef("pk"))
    last_words = Q(answer=TAKEN_BACK)
    went = letters.filter(bad_lot__lifted_at__isnull=True).exclude(Exists(_taken_back())).exclude(last_words)
    still = fits.filter(taken_out_by__isnull=True, is_replaced=False, is_here=False)  # type: ignore[misc]
    return still.exclude(Exists(went))


def _taken_back() -> "QuerySet[BadLotLetter]":
    """Of a letter: the later row of its entry that takes it back."""
    return BadLotLetter.objects.filter(entry=OuterRef("entry"), pk__gt=OuterRef("pk"), answer=TAKEN_BACK)


@dataclass(frozen=True)
class InSet:
    """One fitted part of a bad lot. Sums in the smallest coin; `labour_minor` is a guess."""

    bad: BadLot
    entry: LogEntry
    letters: Sequence[BadLotLetter]
    labour_minutes: int
    hour_minor: int
    day: date

    @property
    def job(self) -> Job:
        return self.entry.job

    @property
    def owner(self) -> Customer:
        return self.job.radio.customer

    @property
    def designator(self) -> str:
        return self.entry.position.designator if self.entry.position else ""

    @cached_property
    def risk(self) -> Risk:
        return risk_of(self.entry.position.role if self.entry.position else "")

    @property
    def taken_out(self) -> bool:
        return getattr(self.entry, "taken_out_by", None) is not None

    @property
    def still_fitted(self) -> bool:
        return not (self.taken_out or self.entry.is_replaced)  # type: ignore[attr-defined]

    @property
    def is_here(self) -> bool:
        return bool(self.entry.is_here)  # type: ignore[attr-defined]

    @property
    def standing(self) -> tuple[str, str]:
        """Mark and words of where the part is now."""
        if self.taken_out:
            return "done", "taken out again"
        if self.entry.is_replaced:  # type: ignore[attr-defined]
            return "done", "replaced in a later job"
        return ("warn", "in the set, which is here") if self.is_here else ("no", "in the set")

    @cached_property
    def line(self) -> WarrantyLine | None:
        return next(iter(self.entry.cover), None)  # type: ignore[attr-defined]

    @property
    def cover_until_on(self) -> date | None:
        return self.line.until_on if self.line and self.line.covered else None

    @property
    def cover_runs(self) -> bool:
        return self.cover_until_on is not None and self.day <= self.cover_until_on

    @property
    def part_minor(self) -> int:
        return coins(self.entry.count * self.entry.lot.unit_cost_milli) if self.entry.lot else 0

    @property
    def labour_minor(self) -> int:
        return round(self.labour_minutes * self.hour_minor / 60)

    @property
    def at_risk_minor(self) -> int:
        """What a part like it and the work cost the shop; nothing where it is out of the set."""
        return self.part_minor + self.labour_minor if self.still_fitted else 0

    @cached_property
    def _counted(self) -> list[BadLotLetter]:
        """Letters and answers since the last letter that was taken back."""
        cut = max((at for at, one in enumerate(self.letters) if one.answer == TAKEN_BACK), default=-1)
        return list(self.letters[cut + 1 :])

    @property
    def letter(self) -> BadLotLetter | None:
        """The last that went out."""
        return next((one for one in reversed(self._counted) if not one.answer), None)

    @property
    def answer(self) -> BadLotLetter | None:
        return next((one for one in reversed(self._counted) if one.answer), None)

    @property
    def wants_letter(self) -> bool:
        return self.still_fitted and not self.is_here and not self._counted and self.bad.lifted_at is None

    @property
    def order(self) -> tuple[bool, int, bool, int]:
        return (not self.still_fitted, self.risk.rank, bool(self._counted), self.entry.pk)


@dataclass(frozen=True)
class BadLots:
    """One act of finding: its lots, the sets they are in, what is left of them."""

    found: Sequence[BadLot]
    sets: Sequence[InSet]
    lying: Lying

    @property
    def first(self) -> BadLot:
        return self.found[0]

    @property
    def lots(self) -> list[Lot]:
        return [one.lot for one in self.found]

    @property
    def is_open(self) -> bool:
        return any(one.lifted_at is None for one in self.found)

    @property
    def in_sets(self) -> list[InSet]:
        return [one for one in self.sets if one.still_fitted]

    @property
    def dangerous(self) -> int:
        return sum(one.risk.is_danger for one in self.in_sets)

    @property
    def risks(self) -> list[Risk]:
        """Each once, the gravest first."""
        return sorted(dict.fromkeys(one.risk for one in self.sets), key=lambda risk: risk.rank)

    @property
    def calls(self) -> bool:
        """Whether somebody who may be in danger wasn't told yet."""
        return any(one.risk.is_danger for one in self.to_tell)

    @property
    def to_tell(self) -> list[InSet]:
        return [one for one in self.sets if one.wants_letter]

    @property
    def told(self) -> int:
        return sum(one.letter is not None for one in self.in_sets)

    @property
    def at_risk_minor(self) -> int:
        return sum(one.at_risk_minor for one in self.sets)

    @property
    def covered_minor(self) -> int:
        """Of that, where the shop's own warranty on the part still runs."""
        return sum(one.at_risk_minor for one in self.sets if one.cover_runs)


def bad_lots(leading: Sequence[BadLot], day: date, terms: Profile | None) -> list[BadLots]:
    """Each act of finding in its order, with all its sets."""
    together = found_with(leading)
    every = {one.pk: one for found in together.values() for one in found}
    sets = _sets(list(every.values()), day, terms)
    lying = lying_of([one.lot for one in every.values()])
    return [_of_one(together[one.pk], sets, lying) for one in leading]


def bad_lots_of(bad: BadLot, day: date, terms: Profile | None) -> BadLots:
    return bad_lots([bad], day, terms)[0]


def _of_one(found: Sequence[BadLot], sets: Sequence[InSet], lying: Lying) -> BadLots:
    lots, keys = {one.lot_id for one in found}, {one.pk for one in found}
    own = sorted((one for one in sets if one.bad.pk in keys), key=lambda one: one.order)
    left = Lying([b for b in lying.balances if b.lot_id in lots], [h for h in lying.holds if h.lot_id in lots])
    return BadLots(found, own, left)


def _sets(found: Sequence[BadLot], day: date, terms: Profile | None) -> list[InSet]:
    heads = ("job__radio__model", "job__radio__customer", "position", "lot", "part", "taken_out_by")
    cover = Prefetch("warranty_lines", WarrantyLine.objects.order_by("-pk"), to_attr="cover")
    fits = list(fits_of([one.lot for one in found]).select_related(*heads).prefetch_related(cover).order_by("pk"))
    letters: dict[tuple[int, int], list[BadLotLetter]] = {}
    for letter in BadLotLetter.objects.filter(bad_lot__in=found).select_related("person").order_by("pk"):
        letters.setdefault((letter.bad_lot_id, letter.entry_id), []).append(letter)
    minutes = minutes_a_fit({one.job_id for one in fits})
    hour = (terms.hour_cost_minor or terms.hour_rate_minor) if terms else 0
    return [
        InSet(bad, fit, letters.get((bad.pk, fit.pk), ()), minutes.get(fit.job_id, GUESSED_MINUTES), hour, day)
        for bad in found
        for fit in fits
        if fit.lot_id == bad.lot_id
    ]


def minutes_a_fit(jobs: Iterable[int]) -> dict[int, int]:
    """What a fitted part took in each job on average: its repair time over its fits. Jobs without such time are left out."""
    keys = list(jobs)
    worked = LabourEntry.objects.filter(job__in=keys, step=Step.REPAIR, withdrawn=False, corrected_by__isnull=True, minutes__gt=0)
    time = dict(worked.order_by().values_list("job").annotate(sum=Sum("minutes")))
    fits = dict(LogEntry.objects.filter(job__in=time, kind=EntryKind.FITTED).order_by().values_list("job").annotate(Count("pk")))
    return {job: max(round(time[job] / fits[job]), 1) for job in time if fits.get(job)}


def listed_bad_lots(*, open_only: bool) -> "QuerySet[BadLot]":
    """The first of each act of finding, what stands first."""
    found = leaders().order_by(F("lifted_at").asc(nulls_first=True), "-pk")
    return found.filter(lifted_at__isnull=True) if open_only else found
