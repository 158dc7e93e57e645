"""Cabinets, trays and compartments, and how full they are."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby

from django.db.models import Count, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from inventory.models import Balance, CabinetFace, Drawer, Part
from shop.search_text import fold

# A shop of more drawers is shown a cabinet at a time, and of a cabinet no more than so many on a page.
MOST_DRAWERS = 150
MOST_SUGGESTED = 30


@dataclass(frozen=True, slots=True)
class Tray:
    """One tray; `drawers` are its compartments, or the tray itself. Each has `part_kinds` and `pieces`."""

    name: str
    drawers: tuple[Drawer, ...]

    @property
    def is_divided(self) -> bool:
        return any(drawer.compartment for drawer in self.drawers)


@dataclass(frozen=True, slots=True)
class Cabinet:
    """`across` trays stand side by side on its front; None where nobody said how many."""

    name: str
    trays: tuple[Tray, ...]
    across: int | None = None

    @property
    def drawers(self) -> tuple[Drawer, ...]:
        return tuple(drawer for tray in self.trays for drawer in tray.drawers)

    @property
    def pieces(self) -> int:
        return sum(drawer.pieces for drawer in self.drawers)  # type: ignore[attr-defined]

    @property
    def empty(self) -> int:
        return sum(not drawer.pieces for drawer in self.drawers)  # type: ignore[attr-defined]


def _in_order(name: str) -> tuple[tuple[int, int, str], ...]:
    """Tray 10 stands after tray 9."""
    parts = re.findall(r"\d+|\D+", name)
    return tuple((0, int(part), "") if part.isdecimal() else (1, 0, fold(part)) for part in parts)


def _order(drawer: Drawer) -> tuple[tuple[tuple[int, int, str], ...], ...]:
    return _in_order(drawer.cabinet), _in_order(drawer.tray), _in_order(drawer.compartment)


def with_fill(drawers: "QuerySet[Drawer]") -> "QuerySet[Drawer]":
    """Adds `part_kinds` and `pieces`."""
    there = Q(balances__on_hand__gt=0)
    return drawers.annotate(
        part_kinds=Count("balances__lot__part", distinct=True, filter=there), pieces=Coalesce(Sum("balances__on_hand"), 0)
    )


def cabinets() -> list[Cabinet]:
    return _as_cabinets(with_fill(Drawer.objects.all()))


def has_few_drawers() -> bool:
    return not Drawer.objects.order_by().values("pk")[MOST_DRAWERS : MOST_DRAWERS + 1].exists()


def cabinet_names() -> list[str]:
    return sorted(Drawer.objects.order_by().values_list("cabinet", flat=True).distinct(), key=_in_order)


def drawers_in(names: Iterable[str]) -> list[int]:
    """The keys of all drawers of these cabinets, as they stand."""
    rows = Drawer.objects.filter(cabinet__in=list(names)).only("cabinet", "tray", "compartment")
    return [drawer.pk for drawer in sorted(rows, key=_order)]


def cabinets_of(drawers: Iterable[int]) -> list[Cabinet]:
    """Cabinets with no more of their drawers than these."""
    return _as_cabinets(with_fill(Drawer.objects.filter(pk__in=list(drawers))))


def _as_cabinets(found: "QuerySet[Drawer]") -> list[Cabinet]:
    drawers = sorted(found, key=_order)
    across = dict(CabinetFace.objects.values_list("name", "across"))
    return [
        Cabinet(
            name,
            tuple(Tray(tray, tuple(of_tray)) for tray, of_tray in groupby(of_cabinet, lambda one: one.tray)),
            across.get(name),
        )
        for name, of_cabinet in groupby(drawers, lambda one: one.cabinet)
    ]


def pictured(drawers: Iterable[Drawer], marked: Mapping[int, str]) -> None:
    """Gives each drawer `front`, what its front would say, and `mark`, why it is the one that is looked for (else empty)."""
    listed = list(drawers)
    words = _front_words(listed)
    for drawer in listed:
        drawer.front = words.get(drawer.pk, [])  # type: ignore[attr-defined]
        drawer.mark = marked.get(drawer.pk, "")  # type: ignore[attr-defined]


def _front_words(drawers: list[Drawer]) -> dict[int, list[str]]:
    """The markings of what lies in each drawer, the most pieces first."""
    there = Balance.objects.filter(drawer__in=drawers, on_hand__gt=0).values_list("drawer_id", "lot__part__marking")
    found: dict[int, list[str]] = {}
    for drawer, marking, _ in (
        there.order_by().annotate(pieces=Sum("on_hand")).order_by("drawer_id", "-pieces", "lot__part__marking")
    ):
        found.setdefault(drawer, []).append(marking)
    return found


def holding(parts: "QuerySet[Part]", most: int | None = None) -> dict[int, str]:
    """Drawers in which some of these parts lie, each with what and how many: `0.047 µF 630 V × 12`.

    With `most`, what lies there of more than so many balances is left out.
    """
    there = Balance.objects.filter(lot__part__in=parts.values("pk"), on_hand__gt=0).order_by()
    if most is not None:
        there = Balance.objects.filter(pk__in=list(there.values_list("pk", flat=True)[:most])).order_by()
    sums = there.values_list("drawer_id", "lot__part__marking").annotate(pieces=Sum("on_hand")).order_by("drawer_id", "-pieces")
    found: dict[int, str] = {}
    for drawer, marking, pieces in sums:
        found.setdefault(drawer, f"{marking} × {pieces}")
    return found


def drawer_called(text: str) -> Drawer | None:
    """The drawer with this code, capitals and the spaces around its strokes aside."""
    wanted = _code_key(text)
    there = Drawer.objects.filter(cabinet__in=cabinets_called(lambda name: name == wanted[0]))
    return next((drawer for drawer in there if _code_key(drawer.code) == wanted), None)


def cabinets_called(is_meant: Callable[[str], bool]) -> list[str]:
    """Cabinets by their folded name: they are few, their drawers may be thousands."""
    return [name for name in Drawer.objects.order_by().values_list("cabinet", flat=True).distinct() if is_meant(fold(name))]


def _code_key(code: str) -> tuple[str, ...]:
    return tuple(fold(part) for part in code.split("/"))


def codes() -> list[str]:
    """Every code, for a field to suggest; none in a shop of many drawers, where `codes_like` answers what is typed."""
    few = list(Drawer.objects.all()[: MOST_DRAWERS + 1])
    return [drawer.code for drawer in sorted(few, key=_order)] if len(few) <= MOST_DRAWERS else []


def codes_like(text: str) -> list[str]:
    """The first codes that begin so, capitals and the spaces around strokes aside."""
    *whole, last = _code_key(text)
    beginning = whole[0] if whole else last
    if not beginning:
        return []
    meant = cabinets_called(lambda name: name == beginning if whole else name.startswith(beginning))
    found = [one for one in Drawer.objects.filter(cabinet__in=meant) if _begins(_code_key(one.code), whole, last)]
    return [drawer.code for drawer in sorted(found, key=_order)[:MOST_SUGGESTED]]


def _begins(code: tuple[str, ...], whole: list[str], last: str) -> bool:
    place = len(whole)
    return len(code) > place and list(code[:place]) == whole and code[place].startswith(last)


def contents(drawer: Drawer) -> "QuerySet[Balance]":
    there = Balance.objects.filter(drawer=drawer, on_hand__gt=0).select_related("lot__part", "lot__supplier", "lot__owner")
    return there.order_by("lot__part__kind", "lot__part__value_si", "lot__part__marking", "lot__received_on", "lot_id")
