"""Which cards are in the shop's book already, and writing down those that are wanted."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from shop.address_cards.reading import Card
from shop.customers import CustomerFacts, add_customer, readable_phone
from shop.models import Customer, Profile
from shop.search_text import fold


@dataclass(frozen=True, slots=True)
class Matched:
    """`number` from 0; `by`: what is the same as on the customer's card. `is_same`: all that tells a person is.

    `again`: the same person stands on an earlier card of the file.
    """

    number: int
    card: Card
    customer: Customer | None = None
    by: str = ""
    is_same: bool = False
    again: bool = False

    @property
    def is_new(self) -> bool:
        return self.customer is None and not self.again


def match_cards(cards: Sequence[Card]) -> list[Matched]:
    """One query, whatever the number of cards and customers."""
    country = _country()
    known: dict[tuple[str, str], Customer] = {}
    for customer in Customer.objects.order_by("-pk").only("pk", "name", "phone", "email"):
        known |= dict.fromkeys(_signs(Card(customer.name, customer.phone, customer.email), country), customer)
    matched, seen = [], set[tuple[str, str]]()
    for number, card in enumerate(cards):
        signs = _signs(card, country)
        found, by = next(((known[sign], sign[0]) for sign in signs if sign in known), (None, ""))
        # Two people of one household share a number: only all that tells a person being the same makes it one card twice.
        is_same = found is not None and all(known.get(sign) == found for sign in signs)
        matched.append(Matched(number, card, found, by, is_same, again=all(sign in seen for sign in signs)))
        seen |= set(signs)
    return matched


def _country() -> str:
    profile = Profile.current()
    return profile.country if profile else "GB"


def _signs(card: Card, country: str) -> list[tuple[str, str]]:
    """What tells a person, the surest first."""
    phone = readable_phone(card.phone, country) if card.phone else ""
    signs = [("e-mail", card.email.strip().lower()), ("telephone", phone), ("name", fold(card.name))]
    return [sign for sign in signs if sign[1]]


def write_cards(cards: Sequence[Card], *, at: datetime, tick: Callable[[int], None] = lambda seen: None) -> list[Customer]:
    """A customer for each, each in a transaction of its own. A card that the book has already just so is left out.

    `tick` is told how many cards were looked at so far; what it raises leaves the customers written so far.
    """
    written = []
    for seen, one in enumerate(match_cards(cards)):
        tick(seen)
        if not (one.again or one.is_same):
            written.append(add_customer(_facts(one.card), at=at))
    return written


def _facts(card: Card) -> CustomerFacts:
    try:
        validate_email(card.email)
    except ValidationError:
        card = replace(card, email="")
    return CustomerFacts(name=card.name, phone=card.phone, email=card.email, address=card.address)
