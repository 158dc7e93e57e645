"""What a part costs the customer when it is fitted or planned: our price, one set by hand with its reason, or nothing."""

from dataclasses import dataclass

from inventory.models import Lot, Part
from inventory.pricing import FOLDED, Priced, price_terms, priced
from jobs.models import LogEntry
from jobs.queries.borne import BORNE_BY_US, Share
from jobs.services.log.writing import check_text, profile
from shop.acts import Refused
from shop.models import Profile
from shop.money import show, show_fine

OWN_PART = "customer's own part"


@dataclass(frozen=True, slots=True)
class SetPrice:
    """A price set by hand: of one, minor units, and why. `below_cost`: the person means it, though the lot cost more."""

    unit_minor: int
    reason: str
    below_cost: bool = False


@dataclass(frozen=True, slots=True)
class Charge:
    """What the entry is written with. `usual_minor` is what our pricing said, None where that is the price."""

    unit_minor: int
    usual_minor: int | None = None
    price_reason: str = ""
    not_charged: str = ""

    @property
    def columns(self) -> dict[str, object]:
        return {
            "unit_price_minor": self.unit_minor,
            "usual_price_minor": self.usual_minor,
            "price_reason": self.price_reason,
            "charged": not self.not_charged,
            "not_charged_reason": self.not_charged,
        }


def charge_for(
    part: Part,
    lot: Lot | None,
    by_hand: SetPrice | None = None,
    not_charged: str = "",
    borne: Share | None = None,
    terms: Profile | None = None,
) -> Charge:
    """Refused where nothing says what the part sells for, or where a price set by hand isn't meant or has no reason.

    `borne` is what the shop bears of it under a warranty; a reason given by hand not to charge it goes before that. What the
    customer brought is never charged. `terms` saves the query where the act has read them already.
    """
    if lot is not None and lot.owner_id is not None:
        return _brought(by_hand)
    if borne is None or not_charged.strip():
        return _charge(part, lot, by_hand, not_charged, terms)
    if by_hand is not None and borne.is_all:
        raise Refused(f"Nothing is charged here: {borne.reason}. Empty the price.", field="price", code="borne")
    return _borne(_charge(part, lot, by_hand, terms=terms), borne)


def _brought(by_hand: SetPrice | None) -> Charge:
    if by_hand is not None:
        raise Refused("The customer brought this part, so nothing is charged for it. Empty the price.", field="price", code="own")
    return Charge(0, not_charged=OWN_PART)


def _borne(charge: Charge, borne: Share) -> Charge:
    """What is folded into the hour or costs nothing stays as it is."""
    if charge.not_charged or borne.is_all:
        return Charge(charge.unit_minor, not_charged=borne.reason if borne.is_all else charge.not_charged)
    usual = charge.unit_minor if charge.usual_minor is None else charge.usual_minor
    words = "; ".join(text for text in (charge.price_reason, borne.words) if text)
    return Charge(borne.left_of(charge.unit_minor), usual, words[:200])


def _charge(
    part: Part, lot: Lot | None, by_hand: SetPrice | None = None, not_charged: str = "", terms: Profile | None = None
) -> Charge:
    ours = priced(part, lot, price_terms(terms))
    if ours is None and by_hand is None:
        raise Refused(f"{part} has neither a list price nor a lot to reckon one from. Give it a list price first.", field="part")
    said = not_charged.strip()[:200]
    if by_hand is not None:
        return _by_hand(ours, lot, by_hand, said)
    assert ours is not None
    return Charge(ours.unit_minor, not_charged=said or (FOLDED if ours.is_folded else ""))


def _by_hand(ours: Priced | None, lot: Lot | None, by_hand: SetPrice, not_charged: str) -> Charge:
    if not_charged:
        raise Refused("Either it has another price or it isn't charged. Empty one of the two.", field="price", code="both")
    reason = check_text(by_hand.reason, "price_reason", "why it has another price", 200)
    if lot is not None and by_hand.unit_minor < lot.unit_cost_minor and not by_hand.below_cost:
        raise Refused(_below_cost(lot, by_hand.unit_minor), field="price", code="below_cost")
    usual = ours.unit_minor if ours is not None else 0
    if ours is not None and usual == by_hand.unit_minor and not ours.is_folded:
        return Charge(usual)
    return Charge(by_hand.unit_minor, usual, reason)


def _below_cost(lot: Lot, unit_minor: int) -> str:
    terms = profile()
    price = show(unit_minor, terms.currency, terms.locale)
    cost = show_fine(lot.unit_cost_milli, terms.currency, terms.locale)
    return f"{price} is below what one of this lot cost, {cost}. If that is meant, tick so and send it again."


def kept_price(decided: LogEntry | None, part: Part, borne: Share | None = None) -> SetPrice | None:
    """The price that was set by hand when this very part was planned: the customer may have agreed to it.

    One that was only lowered by what the shop bears is reckoned anew.
    """
    if borne is not None and decided is not None and (borne.is_all or BORNE_BY_US in decided.price_reason):
        return None
    if decided is None or decided.part_id != part.pk or not decided.price_reason or decided.unit_price_minor is None:
        return None
    return SetPrice(decided.unit_price_minor, decided.price_reason, below_cost=True)
