"""Lots that turned out bad: what lies of them, what is held, which other lots are suspects."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q, QuerySet

from inventory.models import BadLot, Balance, Hold, Lot


def open_bad(lot: Lot) -> BadLot | None:
    """What stands against a lot; None where nothing does."""
    return lot.found_bad.filter(lifted_at__isnull=True).select_related("person").first()  # type: ignore[attr-defined, no-any-return]


def leaders() -> "QuerySet[BadLot]":
    """One for each act of finding: lots that one person found bad at one moment belong together. The newest first."""
    before = BadLot.objects.filter(at=OuterRef("at"), person=OuterRef("person"), pk__lt=OuterRef("pk"))
    found = BadLot.objects.filter(~Exists(before)).select_related("lot__part", "lot__supplier", "person", "lifted_by")
    return found.order_by("-pk")


def found_together(bad: BadLot) -> list[BadLot]:
    """All lots of the act in which this one was found, itself among them, the first first."""
    return found_with([bad])[bad.pk]


def found_with(some: Sequence[BadLot]) -> dict[int, list[BadLot]]:
    """By the key of each, all that were found in the same act. One query."""
    moments = Q(pk__in=[])
    for bad in some:
        moments |= Q(at=bad.at, person=bad.person_id)
    heads = ("lot__part", "lot__supplier", "lot__split_from", "person", "lifted_by")
    together: dict[tuple[object, int], list[BadLot]] = {}
    for one in BadLot.objects.filter(moments).select_related(*heads).order_by("pk"):
        together.setdefault((one.at, one.person_id), []).append(one)
    return {bad.pk: together.get((bad.at, bad.person_id), []) for bad in some}


@dataclass(frozen=True, slots=True)
class Suspect:
    """A lot that may be as bad. `why` in words; `family`: it was one with the bad lot in the drawer."""

    lot: Lot
    why: str
    family: bool

    @property
    def label(self) -> str:
        mark = f" ({self.lot.mark})" if self.lot.mark else ""
        return f"lot {self.lot.pk}{mark}: {self.why}"


def suspects_of(lot: Lot) -> list[Suspect]:
    """Lots split off from it or from its parent, the parent itself; then those of the same part, supplier and date code."""
    root = lot.split_from_id or lot.pk
    family = Q(pk=root) | Q(split_from=root)
    alike = Q(pk__in=[])
    if lot.supplier_id and lot.date_code:
        alike = Q(part=lot.part_id, supplier=lot.supplier_id, date_code__iexact=lot.date_code)
    stands = BadLot.objects.filter(lot=OuterRef("pk"), lifted_at__isnull=True)
    others = Lot.objects.filter(family | alike).exclude(pk=lot.pk).exclude(Exists(stands)).select_related("part", "supplier")
    found = [_suspect(one, root) for one in others.order_by("pk")]
    return sorted(found, key=lambda one: not one.family)


def _suspect(one: Lot, root: int) -> Suspect:
    if one.pk == root:
        return Suspect(one, "the one it was set apart from", True)
    if one.split_from_id == root:
        return Suspect(one, "set apart from the same parts", True)
    return Suspect(one, f"the same part, supplier and date code {one.date_code}, in on {one.received_on:%d %B %Y}", False)


@dataclass(frozen=True, slots=True)
class Lying:
    """What is left of bad lots in the drawers, and what jobs hold of it. Nothing of it can be fitted."""

    balances: Sequence[Balance]
    holds: Sequence[Hold]

    @property
    def on_hand(self) -> int:
        return sum(one.on_hand for one in self.balances)

    @property
    def held(self) -> int:
        return sum(one.held for one in self.balances)

    @property
    def references(self) -> list[str]:
        """Numbers of jobs that must plan anew."""
        return list(dict.fromkeys(one.reference for one in self.holds))


def lying_of(lots: Sequence[Lot]) -> Lying:
    balances = Balance.objects.filter(lot__in=lots, on_hand__gt=0).select_related("drawer", "lot").order_by("lot", "drawer")
    holds = Hold.objects.filter(lot__in=lots, ended_at__isnull=True).select_related("drawer", "lot")
    return Lying(list(balances), list(holds.order_by("reference", "pk")))
