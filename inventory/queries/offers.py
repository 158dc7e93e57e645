"""What lies in the drawers that a place in a circuit could take: cards first, each once, then the lines of the few chosen.

The database leaves out what no rule would let pass (value, voltage, wattage, safety class), so that a big stock costs no more
judging than a small one. What it left out nearest to the value can be asked for apart, to say why not.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import Case, Exists, F, IntegerField, OuterRef, Q, QuerySet, Value, When
from django.db.models.functions import Greatest

from inventory.models import Balance, Hold, Part

# Floats meet decimals here: what differs in the last figure only is the same rating.
HAIR = 1e-9
_IS_A_CAN = Q(polarised=True) & (Q(marking__contains="+") | Q(marking__contains="-"))


class Card(NamedTuple):
    """The card of a part, as far as judging needs it; `left_out` is 1 where it doesn't meet the bounds it was asked by."""

    pk: int
    kind: str
    value_si: float | None
    tolerance_low: float | None
    tolerance_high: float | None
    volts: float | None
    watts: float | None
    technology: str
    safety_class: str
    polarised: bool
    marking: str
    left_out: int

    @property
    def spec_key(self) -> tuple[object, ...]:
        """Cards that agree in it are judged alike, whatever else is written on them."""
        return self[1:]


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a card must meet to be worth judging. SI base units; None bounds nothing, and what is not recorded always passes.

    `cans`: a card holds the first section's value only, so cans of several pass whatever it is.
    """

    kinds: tuple[str, ...]
    values: tuple[float, float] | None = None
    cans: bool = False
    least_volts: float | None = None
    least_watts: float | None = None
    classed: bool = False
    unpolarised: bool = False

    def as_q(self) -> Q:
        found = Q(kind__in=self.kinds, in_use=True)
        if self.values is not None:
            low, high = self.values
            within = Q(value_si__range=(low - abs(low) * HAIR, high + abs(high) * HAIR))
            found &= within | _IS_A_CAN if self.cans else within
        if self.least_volts is not None:
            found &= Q(volts__isnull=True) | Q(volts__gte=self.least_volts * (1 - HAIR))
        if self.least_watts is not None:
            found &= Q(watts__isnull=True) | Q(watts__gte=self.least_watts * (1 - HAIR))
        if self.classed:
            found &= ~Q(safety_class="")
        return found & Q(polarised=False) if self.unpolarised else found


def _usable(balances: "QuerySet[Balance]", customer_id: int | None) -> "QuerySet[Balance]":
    """Free lines of lots that aren't blocked, the shop's own or those of this customer."""
    theirs = Q(lot__owner=None) | Q(lot__owner=customer_id) if customer_id else Q(lot__owner=None)
    return balances.filter(theirs, on_hand__gt=F("held"), lot__blocked_reason="")


def cards_for(bounds: Bounds, span: Bounds, near: float | None, most: int, customer_id: int | None = None) -> list[Card]:
    """Cards of parts that lie free in a drawer: those within `bounds` first, then what else is within `span`; nearest first."""
    there = Exists(_usable(Balance.objects.filter(lot__part=OuterRef("pk")), customer_id))
    left_out = Case(When(bounds.as_q(), then=Value(0)), default=Value(1)) if bounds != span else Value(0)
    found = Part.objects.filter(span.as_q(), there).annotate(left_out=left_out)
    nearest = [Greatest(F("value_si") / Value(near), Value(near) / F("value_si"))] if near is not None else []
    return [Card._make(row) for row in found.order_by("left_out", *nearest, "pk").values_list(*Card._fields)[:most]]


def best_lines(tiers: Sequence[Collection[int]], most: int, customer_id: int | None = None) -> list[int]:
    """Keys of the free lines of parts in tiers: tier by tier, in each what the customer brought, the oldest lot, the cheapest.

    In a big stock the first tier fills the page, and asking for it alone takes a third of the time of asking for all in order.
    """
    found: list[int] = []
    for asked in (tiers[:1], tiers[1:]):
        if asked and len(found) < most:
            found += _lines_in_order(asked, most - len(found), customer_id)
    return found


def _lines_in_order(tiers: Sequence[Collection[int]], most: int, customer_id: int | None) -> "QuerySet[Balance, int]":
    order: list[Any] = [F("lot__owner").asc(nulls_last=True), "lot__received_on", "lot__unit_cost_milli", "pk"]
    if len(tiers) > 1:
        places = (When(lot__part__in=tier, then=Value(place)) for place, tier in enumerate(tiers))
        order.insert(0, Case(*places, output_field=IntegerField()))
    every = [pk for tier in tiers for pk in tier]
    return _usable(Balance.objects.filter(lot__part__in=every), customer_id).order_by(*order).values_list("pk", flat=True)[:most]


def lines_shown(pks: Sequence[int], held: Hold | None = None) -> list[Balance]:
    """These lines, in no order, and the one that a hold keeps parts in, with all that a page shows of them."""
    wanted = Q(pk__in=pks)
    if held is not None:
        wanted |= Q(lot=held.lot_id, drawer=held.drawer_id, lot__blocked_reason="", lot__part__in_use=True)
    return list(Balance.objects.filter(wanted).select_related("lot__part", "lot__supplier", "drawer"))
