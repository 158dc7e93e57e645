"""Finding parts by their words and by their value, whichever way it is written: `.047` finds 47 nF."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from django.db.models import Prefetch, Q, QuerySet

from inventory.components.notation import NotationError, Spec, read_notation
from inventory.models import Balance, Hold, Kind, Lot, Part, PartQuerySet
from inventory.pricing import Priced, PriceTerms, priced, priced_lot
from shop.search_text import fold

QUANTITIES: tuple[str, ...] = (Kind.CAPACITOR, Kind.RESISTOR, Kind.INDUCTOR)
# Near enough to be the same preferred value: .05 µF is what 0.047 µF was before preferred values.
NEAR = 0.065
# So many parts are named by their keys where something is asked of them more than once.
MOST_NAMED = 3_000


def values_meant(text: str, kinds: Iterable[str] = QUANTITIES) -> list[Spec]:
    """Every quantity the text may stand for; an ambiguous one stands for all its readings."""
    found: list[Spec] = []
    for kind in kinds:
        try:
            found.append(read_notation(text, kind))
        except NotationError as error:
            found += [reading.spec for reading in error.readings]
    return [spec for spec in found if spec.kind in QUANTITIES]


def near(specs: Sequence[Spec], at: str = "") -> Q:
    """Parts whose value is that of one of the specs, or the preferred value beside it. `at` leads to the part: `lot__part__`."""
    found = Q(**{f"{at}pk__in": []})
    for spec in specs:
        value = float(spec.value)
        between = (value * (1 - NEAR), value * (1 + NEAR))
        found |= Q(**{f"{at}kind": spec.kind, f"{at}value_si__range": between})
    return found


def matching_at(at: str, text: str) -> Q:
    """What `parts_matching` finds, asked of the part a row leads to: for few rows, or a walk that ends with enough of them."""
    words = [Q(**{f"{at}search__contains": word}) for word in fold(text).split()] or [Q(**{f"{at}pk__isnull": False})]
    return near(values_meant(text), at) | Q(*words)


def parts_matching(text: str, kinds: Iterable[str] = QUANTITIES) -> PartQuerySet:
    """Parts with every word of the text on their card, or of a value that the text stands for."""
    by_words = Part.objects.matching(text).values("pk")
    return Part.objects.filter(near(values_meant(text, kinds)) | Q(pk__in=by_words))


def parts_called(text: str, kinds: Iterable[str] = QUANTITIES) -> "list[int] | QuerySet[Part, Any]":
    """What `parts_matching` finds, for `part__in`: keys, as every card is read for words; of very many the question itself."""
    found = parts_matching(text, kinds).order_by()
    keys = list(found.values_list("pk", flat=True)[: MOST_NAMED + 1])
    return keys if len(keys) <= MOST_NAMED else found.values("pk")


def with_lots(parts: PartQuerySet) -> PartQuerySet:
    """Adds `known_lots`, oldest first, each with `lying`: its balances that hold something, with their drawers."""
    lying = Prefetch("balances", Balance.objects.filter(on_hand__gt=0).select_related("drawer"), to_attr="lying")
    lots = Lot.objects.select_related("supplier", "owner").prefetch_related(lying)
    return parts.prefetch_related(Prefetch("lots", lots, to_attr="known_lots"))


def next_lot(lots: Sequence[Lot]) -> Lot | None:
    """The lot whose cost sets today's price: the oldest that lies in a drawer and isn't blocked, else the last that came.

    What customers brought sets no price.
    """
    ours = [lot for lot in lots if lot.owner_id is None]
    usable = [lot for lot in ours if lot.lying and not lot.blocked_reason]  # type: ignore[attr-defined]
    return usable[0] if usable else ours[-1] if ours else None


def price_of(part: Part, lots: Sequence[Lot], terms: PriceTerms) -> Priced | None:
    """What one sells for today; None for a part without list price that never came in."""
    return priced(part, next_lot(lots), terms)


@dataclass(frozen=True)
class LotLine:
    """One lot on the page of its part, priced."""

    lot: Lot
    price: Priced
    today: date

    @cached_property
    def lying(self) -> list[Balance]:
        return list(self.lot.lying)  # type: ignore[attr-defined]

    @property
    def on_hand(self) -> int:
        return sum(balance.on_hand for balance in self.lying)

    @property
    def can_go_back(self) -> bool:
        return bool(self.lying) and self.lot.supplier_id is not None and self.lot.can_go_back(self.today)


def lot_lines(part: Part, terms: PriceTerms, today: date) -> list[LotLine]:
    """The lots of a part that was loaded `with_lots`, what lies in a drawer first, then the newest."""
    lines = [LotLine(lot, priced_lot(part, lot, terms), today) for lot in part.known_lots]  # type: ignore[attr-defined]
    return [line for line in lines if line.lying] + [line for line in reversed(lines) if not line.lying]


def open_holds(part: Part) -> list[Hold]:
    return list(Hold.objects.filter(lot__part=part, ended_at=None).select_related("lot", "drawer", "person"))
