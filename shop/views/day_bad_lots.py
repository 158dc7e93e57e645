"""The lines of the Today page about bad lots: owners who aren't told yet, parts that their supplier still stands by."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.urls import reverse

from inventory.models import BadLot, Lot
from inventory.queries.supplier_claims import GIVEN_UP, SupplierCover, cover_of, listed_claims
from jobs.bench.part_risks import risk_of
from jobs.queries.bad_lots import fits_of, to_be_told
from shop.views.day_lines import Desk, Line, day_words
from shop.views.day_ways import Wish


def _standing() -> list[BadLot]:
    found = BadLot.objects.filter(lifted_at__isnull=True).select_related("lot__part", "lot__supplier")
    return list(found.order_by("pk"))


@dataclass(frozen=True, slots=True)
class Untold:
    """One act of finding with owners who are still to be told; `dangerous` of them hold a part that may hurt somebody."""

    bad: BadLot
    count: int
    dangerous: int


def untold() -> list[Untold]:
    """Those with the most danger first, in two queries."""
    standing = _standing()
    if not standing:
        return []
    by_lot = {bad.lot_id: bad for bad in standing}
    acts: dict[tuple[object, int], list[str]] = {}
    first: dict[tuple[object, int], BadLot] = {}
    for bad in standing:
        first.setdefault((bad.at, bad.person_id), bad)
    fits = to_be_told(fits_of([bad.lot for bad in standing]))
    for lot_pk, role in fits.values_list("lot_id", "position__role"):
        bad = by_lot[lot_pk or 0]
        acts.setdefault((bad.at, bad.person_id), []).append(role or "")
    found = [Untold(first[key], len(roles), sum(risk_of(role).is_danger for role in roles)) for key, roles in acts.items()]
    return sorted(found, key=lambda one: (-one.dangerous, one.bad.pk))


def untold_lines(rows: Sequence[Untold], desk: Desk) -> list[Line]:
    return [_untold(one, desk) for one in rows]


def _untold(one: Untold, desk: Desk) -> Line:
    bad = one.bad
    wishes = [Wish("Letters", "jobs:bad_lot_letters", (bad.pk,)), Wish("They went out", "jobs:bad_lot_sent", (bad.pk,))]
    mark = ("no", f"{one.dangerous} in danger") if one.dangerous else ("warn", "To be told")
    words = f"{one.count} {'owner isn’t' if one.count == 1 else 'owners aren’t'} told yet: {bad.why}"
    address = reverse("jobs:bad_lot", args=[bad.pk])
    return Line(
        "", address, head=f"{bad.lot.part.title}, lot {bad.lot_id}", marks=(mark,), words=words, ways=desk.ways.of(wishes)
    )


@dataclass(frozen=True, slots=True)
class Claimable:
    lot: Lot
    why: str
    cover: SupplierCover


def claimable(desk: Desk) -> list[Claimable]:
    """Bad lots that nothing was claimed for while their supplier stands by them, the first to end first."""
    standing = [bad for bad in _standing() if bad.lot.supplier_id]
    if not standing:
        return []
    claims = listed_claims().filter(lot__in=[bad.lot_id for bad in standing])
    claimed = set(claims.exclude(state__in=GIVEN_UP).values_list("lot_id", flat=True))  # type: ignore[misc]
    rows = [Claimable(bad.lot, bad.why, cover_of(bad.lot, desk.today)) for bad in standing if bad.lot_id not in claimed]
    running = [one for one in rows if one.cover.until_on and not one.cover.is_over]
    return sorted(running, key=lambda one: (one.cover.until_on, one.lot.pk))


def claimable_lines(rows: Sequence[Claimable], desk: Desk) -> list[Line]:
    return [_claimable(one, desk) for one in rows]


def _claimable(one: Claimable, desk: Desk) -> Line:
    until = day_words(one.cover.until_on) if one.cover.until_on else ""
    words = f"{one.lot.supplier} stands by it until {until}: {one.why}"
    ways = desk.ways.of([Wish("Claim it", "inventory:supplier_claim_new", (one.lot.pk,))])
    head = f"{one.lot.part.title}, lot {one.lot.pk}"
    address = reverse("inventory:lot", args=[one.lot.pk])
    return Line("", address, head=head, marks=(("warn", one.cover.words.capitalize()),), words=words, ways=ways)
