"""Customers out of a large file of address cards."""

from shop.address_cards.matching import write_cards
from shop.address_cards.reading import card_from_json
from shop.clock import now
from shop.long_work import Made, Progress
from shop.models import LongWork


def write_customers(work: LongWork, progress: Progress) -> Made:
    """`cards` as `Card.as_json` gives them: those that the person chose."""
    cards = [card_from_json(one) for one in work.asked["cards"]]
    written = write_cards(cards, at=now(), tick=lambda seen: progress.step(seen, len(cards)))
    progress.step(len(cards), len(cards))
    return Made(f"{len(written)} customers are written down.")
