"""Who sells a part that we have a card for, and for how much of the shop's own money."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.models import Offer, Part, Supplier
from shop.money import minor_digits

# Below the smallest number of values that a statement may carry on either database.
PARTS_A_QUERY = 10_000


def offers_for(parts: Iterable[Part | int]) -> dict[int, list[Offer]]:
    """By the key of each part given, what suppliers in use offer of it now, each with its `supplier`; an empty list for none.

    Takes parts or their keys. Ordered by supplier's name, then order code.
    """
    keys = [one.pk if isinstance(one, Part) else one for one in parts]
    found: dict[int, list[Offer]] = {pk: [] for pk in keys}
    for start in range(0, len(keys), PARTS_A_QUERY):
        asked = Offer.objects.filter(part__in=keys[start : start + PARTS_A_QUERY], is_offered=True, supplier__in_use=True)
        for offer in asked.select_related("supplier").order_by("supplier__name", "code"):
            found[offer.part_id].append(offer)  # type: ignore[index]
    return found


def currency_of(supplier: Supplier, shop_currency: str) -> str:
    """ISO 4217 code of a supplier's prices: the shop's own where the card says nothing."""
    return supplier.currency or shop_currency


def in_shop_milli(offer: Offer, milli: int, shop_currency: str) -> Fraction | None:
    """A sum of this offer in thousandths of the shop's smallest coin, by the rate on the supplier's card.

    Exact, so that rounding is the caller's. None where the offer is in a currency that the card has no rate for: the card was
    changed since the list came. Currencies with other counts of decimals (ISO 4217) are brought to the shop's.
    """
    if offer.currency == shop_currency:
        return Fraction(milli)
    if offer.currency != offer.supplier.currency:
        return None
    digits = minor_digits(shop_currency) - minor_digits(offer.currency)
    return Offer.in_shop_money(milli, offer.supplier.exchange_ppm) * Fraction(10) ** digits


@dataclass(frozen=True, slots=True)
class Step:
    """From `count` pieces on, one costs `milli` thousandths of the smallest coin; None where no rate is known."""

    count: int
    milli: int
    shop_milli: int | None


@dataclass(frozen=True, slots=True)
class OfferLine:
    """One offer as a part's page shows it. `lead_days` is the offer's own, or the supplier's usual one."""

    offer: Offer
    steps: Sequence[Step]
    lead_days: int

    @property
    def is_foreign(self) -> bool:
        return any(step.shop_milli != step.milli for step in self.steps)

    @property
    def least_shop_milli(self) -> float:
        return min((step.shop_milli for step in self.steps[:1] if step.shop_milli is not None), default=float("inf"))


def _rounded(sum_milli: Fraction | None) -> int | None:
    return None if sum_milli is None else int(sum_milli + Fraction(1, 2))


def offer_lines(part: Part, shop_currency: str) -> list[OfferLine]:
    """Who offers a part, the cheapest for the smallest count first; what can't be compared comes last."""
    lines = [line_of(offer, shop_currency) for offer in offers_for([part])[part.pk]]
    return sorted(lines, key=lambda line: line.least_shop_milli)


def line_of(offer: Offer, shop_currency: str) -> OfferLine:
    """An offer that was loaded with its supplier."""
    steps = [Step(count, milli, _rounded(in_shop_milli(offer, milli, shop_currency))) for count, milli in offer.breaks]
    lead = offer.supplier.lead_days if offer.lead_days is None else offer.lead_days
    return OfferLine(offer, steps, lead)
