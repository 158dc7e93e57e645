"""How full the cabinets are: pieces, their cost, and whether enough is left of what is to be kept."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from django.db.models import BigIntegerField, F, Max, Q, Sum

from inventory.models import Balance, Drawer
from inventory.queries.drawers import cabinets


@dataclass(frozen=True, slots=True)
class Fill:
    """What lies in one drawer, tray or cabinet. Kinds of parts are counted in each place where they lie.

    `kept` have a minimum and enough free to keep it, `short` have less (also where the last one lay here), `plain` have none.
    """

    name: str
    free: int
    held: int
    cost_milli: int
    kept: int
    short: int
    plain: int
    drawers: int = 1
    tray: str = ""
    pk: int = 0

    @property
    def pieces(self) -> int:
        return self.free + self.held

    @property
    def kinds(self) -> int:
        return self.kept + self.short + self.plain

    @property
    def cost_minor(self) -> int:
        return round(Fraction(self.cost_milli, 1000))


@dataclass(frozen=True, slots=True)
class CabinetFill:
    whole: Fill
    drawers: tuple[Fill, ...]

    @property
    def name(self) -> str:
        return self.whole.name


class _Lying(NamedTuple):
    drawer: int
    part: int
    minimum: int
    on_hand: int
    held: int
    usable: int
    cost_milli: int
    last: int


def fill_of_cabinets() -> list[CabinetFill]:
    """Every cabinet with its drawers as they stand. Three queries."""
    lying, short = _lying()
    made = []
    for cabinet in cabinets():
        fills = tuple(_fill(drawer, lying.get(drawer.pk, []), short) for drawer in cabinet.drawers)
        made.append(CabinetFill(together(cabinet.name, fills), fills))
    return made


def together(name: str, fills: Sequence[Fill]) -> Fill:
    """Several places as one."""
    sums = {key: sum(getattr(one, key) for one in fills) for key in ("free", "held", "cost_milli", "kept", "short", "plain")}
    return Fill(name, **sums, drawers=sum(one.drawers for one in fills))


def _lying() -> tuple[dict[int, list[_Lying]], frozenset[int]]:
    """What lies in each drawer, and the parts of which less is free than is to be kept."""
    # Where nothing lies of a part without a minimum, nothing is missing either: years of used-up lots are left aside.
    counts = ~Q(on_hand=0) | Q(lot__part__minimum__gt=0, lot__part__in_use=True)
    rows = (
        Balance.objects.filter(counts)
        .order_by()
        .values_list("drawer_id", "lot__part_id", "lot__part__minimum", "lot__part__in_use")
        .annotate(
            sum=Sum("on_hand"),
            kept=Sum("held"),
            usable=Sum(F("on_hand") - F("held"), filter=Q(lot__blocked_reason="", lot__owner=None), default=0),
            cost=Sum(F("on_hand") * F("lot__unit_cost_milli"), output_field=BigIntegerField()),
            last=Max("pk"),
        )
    )
    read = [_Lying(drawer, part, minimum if used else 0, *sums) for drawer, part, minimum, used, *sums in rows]
    usable: dict[int, int] = defaultdict(int)
    last: dict[int, int] = defaultdict(int)
    for one in read:
        usable[one.part] += one.usable
        last[one.part] = max(last[one.part], one.last)
    gone = usable.keys() - {one.part for one in read if one.on_hand}
    by_drawer: dict[int, list[_Lying]] = defaultdict(list)
    for one in read:
        if one.on_hand or (one.minimum and one.part in gone and one.last == last[one.part]):
            by_drawer[one.drawer].append(one)
    return by_drawer, frozenset(one.part for one in read if one.minimum > usable[one.part])


def _fill(drawer: Drawer, lying: list[_Lying], short: frozenset[int]) -> Fill:
    below = sum(one.part in short for one in lying)
    plain = sum(not one.minimum for one in lying)
    return Fill(
        name=" / ".join(part for part in (drawer.tray, drawer.compartment) if part),
        free=sum(one.on_hand - one.held for one in lying),
        held=sum(one.held for one in lying),
        cost_milli=sum(one.cost_milli for one in lying),
        kept=len(lying) - below - plain,
        short=below,
        plain=plain,
        tray=drawer.tray,
        pk=drawer.pk,
    )
