"""What lies in the drawers to make a value up from, and where the chosen pieces are taken."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import F, Sum

from inventory.components.combining import Made, StockValue
from inventory.models import Balance, Lot, Part, title_of
from inventory.pricing import Priced, PriceTerms, priced_lot
from inventory.queries.specs import sections_in

_FIGURES = ("value_si", "tolerance_low", "tolerance_high", "volts", "watts", "polarised")
_COLUMNS = ("pk", "marking", "technology", "description", *_FIGURES, "on_hand", "held")


def stock_values(kind: str, *, without: Collection[str] = (), classed: bool = False) -> list[StockValue]:
    """Every part of a kind that lies free in a drawer, by its key; cans of several sections and the `without` makes left out.

    `classed`: only those of a safety class, whose AC rating is no DC voltage to reckon with.
    """
    parts = Part.objects.filter(kind=kind, in_use=True, value_si__gt=0, on_hand__gt=F("held")).exclude(
        technology__in=list(without)
    )
    parts = parts.exclude(safety_class="") if classed else parts
    blocked, found = _blocked_pieces(), []
    # Columns and not cards: a large shop has tens of thousands of them, of which a dozen are shown.
    for key, marking, technology, description, *figures, on_hand, held in parts.order_by().values_list(*_COLUMNS):
        free = on_hand - held - blocked.get(key, 0)
        if free > 0 and not sections_in(kind, marking):
            found.append(_value(key, figures, free, title_of(marking, technology, description)))
    return found


def _blocked_pieces() -> dict[int, int]:
    """By part, what lies free in lots that nothing may be fitted from. The sums on a part's card hold them too."""
    lots = Lot.objects.exclude(blocked_reason="").order_by().values("pk")
    free = Balance.objects.filter(lot__in=lots, lot__owner=None, on_hand__gt=F("held")).order_by().values_list("lot__part")
    return dict(free.annotate(pieces=Sum(F("on_hand") - F("held"))))


def stock_value(part: Part, free: int = 1) -> StockValue:
    return _value(part.pk, [getattr(part, name) for name in _FIGURES], free, part.title)


def _value(key: int, figures: Sequence[Any], free: int, title: str) -> StockValue:
    value, low, high, volts, watts, polarised = figures
    band = None if low is None or high is None else (low, high)
    return StockValue(key, value or 0.0, band, volts, watts, free, polarised, title)


@dataclass(frozen=True, slots=True)
class Piece:
    """`count` pieces of what is made up, taken from one lot in one drawer; `price` is what each costs the customer."""

    line: Balance
    count: int
    price: Priced

    @property
    def part(self) -> Part:
        return self.line.lot.part

    @property
    def offer(self) -> str:
        return f"{self.line.lot_id}:{self.line.drawer_id}"


Lying = dict[int, list[Balance]]


def lying(made: Iterable[Made]) -> Lying:
    """The free lines of all the parts in these, by part, the oldest lot first."""
    wanted = {part.id for one in made for part in one.parts}
    there = Balance.objects.filter(lot__part__in=wanted, lot__owner=None, lot__blocked_reason="", on_hand__gt=F("held"))
    found: Lying = {}
    for line in there.select_related("lot__part", "drawer").order_by("lot__received_on", "lot__unit_cost_milli", "pk"):
        found.setdefault(line.lot.part_id, []).append(line)
    return found


def pieces_of(made: Made, lines: Lying, prices: PriceTerms) -> tuple[Piece, ...]:
    """Where to take each part; two alike come from one lot if it has both, as they share best. Empty where too few are left."""
    taken: list[Balance] = []
    for part in made.parts:
        together = len(made.parts) > 1 and made.parts[0].id == made.parts[-1].id
        line = _line_for(lines.get(part.id, []), taken, 2 if together and not taken else 1)
        if line is None:
            return ()
        taken.append(line)
    return tuple(Piece(line, taken.count(line), priced_lot(line.lot.part, line.lot, prices)) for line in dict.fromkeys(taken))


def _line_for(lines: Sequence[Balance], taken: Sequence[Balance], count: int) -> Balance | None:
    """The oldest line with enough in it, the one already taken from first; failing that, with one."""
    left = [line for line in (*taken, *lines) if line in lines and line.free - taken.count(line) >= 1]
    return next((line for line in left if line.free - taken.count(line) >= count), left[0] if left else None)
