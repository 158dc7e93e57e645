"""What a part sells for, and why: its list price where it has one, else the lot's cost times a rung of the ladder for its kind.

A minor part may be folded into the hour: it has its price, but it is written as not charged.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from inventory.models import Lot, Part
from shop.models import MarkupStep, Profile
from shop.money import DEFAULT_LOCALE, show, show_fine
from shop.prepared import Prepared

Steps = Sequence[tuple[int, int]]
# Sliding markup, high on pennies and low on dear parts (common practice, no source); the owner's own ladder replaces it.
DEFAULT_LADDER: tuple[tuple[int, int], ...] = ((50, 300), (200, 250), (1000, 200), (5000, 160))
ABOVE_PERCENT = 130
EVERY_KIND = ""
FOLDED = "folded into the hour"


@dataclass(frozen=True, slots=True)
class PriceTerms:
    """The shop's own ladders by kind of part (`EVERY_KIND` for those without one), and what is folded into the hour.

    A ladder's rungs are (unit cost up to, minor units; selling price in % of cost), cheapest first.
    """

    ladders: Mapping[str, Steps] = field(default_factory=dict)
    in_the_hour_below_minor: int = 0
    currency: str = "GBP"
    locale: str = DEFAULT_LOCALE

    def steps_for(self, kind: str) -> Steps:
        return self.ladders.get(kind) or self.ladders.get(EVERY_KIND) or DEFAULT_LADDER

    def shown(self, minor: int) -> str:
        return show(minor, self.currency, self.locale)


_RUNGS = Prepared(lambda: MarkupStep.objects.values_list("part_kind", "cost_up_to_minor", "factor_percent"))


def price_terms(profile: Profile | None = None) -> PriceTerms:
    """The terms as they stand now, in two queries, or in one with the profile read already."""
    ladders: dict[str, list[tuple[int, int]]] = {}
    for kind, *rung in _RUNGS.tuples():
        ladders.setdefault(kind, []).append((rung[0], rung[1]))
    profile = profile or Profile.current() or Profile()
    return PriceTerms(ladders, profile.in_the_hour_below_minor, profile.currency, profile.locale)


@dataclass(frozen=True, slots=True)
class Priced:
    """The price of one, minor units, and what it came of. `percent` is the rung, None where the list price rules.

    `folded_because` says why the part is folded into the hour; empty where it is charged.
    """

    unit_minor: int
    terms: PriceTerms
    cost_milli: int = 0
    percent: int | None = None
    folded_because: str = ""

    @property
    def how(self) -> str:
        if self.percent is None:
            return "list price"
        return f"cost {show_fine(self.cost_milli, self.terms.currency, self.terms.locale)} × {self.percent} %"

    @property
    def is_folded(self) -> bool:
        return bool(self.folded_because)

    @property
    def why(self) -> str:
        """`cost £0.20 × 300 %`, `list price; folded into the hour, as it sells below £0.50`."""
        return f"{self.how}; {FOLDED}, {self.folded_because}" if self.is_folded else self.how


def rung_percent(unit_cost_minor: Fraction, steps: Steps) -> int:
    """Selling price in % of cost at the rung this cost stands on; above the last rung, the factor for dear parts."""
    return next((percent for up_to, percent in steps if unit_cost_minor <= up_to), ABOVE_PERCENT)


def marked_up(unit_cost_minor: Fraction, steps: Steps) -> int:
    """Selling price of one, in whole minor units, never below one for a part that cost something."""
    price = unit_cost_minor * rung_percent(unit_cost_minor, steps) / 100
    whole = int(price + Fraction(1, 2))
    return max(whole, 1) if unit_cost_minor else 0


def priced(part: Part, lot: Lot | None, terms: PriceTerms) -> Priced | None:
    """None for a part without list price of which no lot is known to reckon one from."""
    if part.list_price_minor is not None:
        return Priced(part.list_price_minor, terms, folded_because=_folded_because(part, part.list_price_minor, terms))
    if lot is None:
        return None
    steps = terms.steps_for(part.kind)
    price, percent = marked_up(lot.unit_cost_minor, steps), rung_percent(lot.unit_cost_minor, steps)
    return Priced(price, terms, lot.unit_cost_milli, percent, _folded_because(part, price, terms))


def priced_lot(part: Part, lot: Lot, terms: PriceTerms) -> Priced:
    found = priced(part, lot, terms)
    assert found is not None
    return found


def _folded_because(part: Part, price_minor: int, terms: PriceTerms) -> str:
    """What costs nothing, such as the customer's own part, is nobody's minor part."""
    if part.in_the_hour:
        return "as its card says"
    if 0 < price_minor < terms.in_the_hour_below_minor:
        return f"as it sells below {terms.shown(terms.in_the_hour_below_minor)}"
    return ""


def why(part: Part, lot: Lot | None, terms: PriceTerms | None = None) -> str:
    """How the price came about, in words; empty where there is none."""
    found = priced(part, lot, terms or price_terms())
    return found.why if found else ""


def unit_price_minor(part: Part, lot: Lot, terms: PriceTerms | None = None) -> int:
    return priced_lot(part, lot, terms or price_terms()).unit_minor
