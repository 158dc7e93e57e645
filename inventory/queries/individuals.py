"""Valves kept as individuals: what the tester last said of each, its mates, and what should be tested while it can go back."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch, Q, QuerySet

from inventory.models import Balance, Kind, Lot, MatchedSet, Part, ValveTest
from inventory.queries.parts import matching_at


@dataclass(frozen=True, slots=True)
class Individual:
    """One valve with its last reading (None: never tested), where it lies, and the marks it is matched with."""

    lot: Lot
    last_test: ValveTest | None
    lying: Balance | None
    mates: tuple[str, ...]


def _heads(lots: "QuerySet[Lot]") -> "QuerySet[Lot]":
    tests = Prefetch("tests", ValveTest.objects.order_by("-tested_on", "-pk"), to_attr="newest_tests")
    there = Prefetch("balances", Balance.objects.filter(on_hand__gt=0).select_related("drawer"), to_attr="places")
    mates = Prefetch("matched__lots", Lot.objects.only("pk", "mark", "matched_id"), to_attr="members")
    return lots.select_related("part", "supplier", "matched").prefetch_related(tests, there, mates)


def individual_of(lot: Lot) -> Individual:
    """Of a lot that `_heads` has read."""
    members = lot.matched.members if lot.matched is not None else []  # type: ignore[attr-defined]
    tests, places = lot.newest_tests, lot.places  # type: ignore[attr-defined]
    mates = tuple(sorted(one.mark for one in members if one.pk != lot.pk))
    return Individual(lot, tests[0] if tests else None, places[0] if places else None, mates)


def individuals(text: str = "", *, gone: bool = False) -> "QuerySet[Lot]":
    """Individuals that lie in a drawer (or, `gone`, all there ever were), by type and mark; feed a page to `shown`."""
    # By their keys, as few lots are individuals: each is asked where it lies and for its part.
    found = Lot.objects.filter(pk__in=Lot.objects.exclude(mark="").order_by().values("pk"))
    if not gone:
        found = found.filter(on_hand__gt=0)
    if text.strip():
        found = found.filter(matching_at("part__", text) | Q(mark__iexact=text.strip()))
    return found.order_by("part__marking", "pk")


def shown(lots: Sequence[Lot]) -> list[Individual]:
    """A page of individuals in its order, in a fixed number of queries."""
    read = {lot.pk: lot for lot in _heads(Lot.objects.filter(pk__in=[lot.pk for lot in lots]))}
    return [individual_of(read[lot.pk]) for lot in lots]


def by_lot(lots: Sequence[Lot]) -> dict[int, Individual]:
    """By the lot's key; no query where there are none."""
    return {one.lot.pk: one for one in shown(lots)} if lots else {}


def individual(lot: Lot) -> Individual:
    return shown([lot])[0]


def to_be_tested(today: date) -> list[Lot]:
    """Valves that lie untested in a drawer while their supplier still takes them back, the earliest end first."""
    early = Lot.objects.filter(return_until_on__gte=today, supplier__isnull=False).order_by().values("pk")
    valves = Lot.objects.filter(pk__in=early, part__kind=Kind.VALVE, tests__isnull=True)
    there = valves.filter(on_hand__gt=0).select_related("part", "supplier")
    return list(there.order_by("return_until_on", "pk")[:50])


def matched_sets(part: Part | None = None) -> "QuerySet[MatchedSet]":
    sets = MatchedSet.objects.filter(parted_at__isnull=True, lots__isnull=False).distinct()
    return (sets.filter(lots__part=part) if part else sets).prefetch_related("lots__part").order_by("-pk")


def matchable() -> "QuerySet[Lot]":
    """Individuals in a drawer that belong to no matched set."""
    marked = Lot.objects.exclude(mark="").order_by().values("pk")
    free = Lot.objects.filter(pk__in=marked, matched__isnull=True, on_hand__gt=0, owner=None)
    return free.select_related("part").order_by("part__marking", "pk")
