"""The cheapest basket: the solver's answer in whole numbers, held against the two plain ways of buying."""

from collections.abc import Sequence
from datetime import date

from inventory.buying.baskets import Basket, Choice, Terms, basket_of, faults
from inventory.buying.deadlines import Dated, dated, unbought
from inventory.buying.model import Answer, Model
from inventory.buying.plain import Usable, cheapest_each, cheapest_single
from inventory.buying.wants import Key, Source, SupplierTerms, Want

# A person waits for the page; what isn't proved by then is said to be the best that was found.
SECONDS = 5.0
SECONDS_FOR_FEWER = 1.0
NOTHING = Basket((), (), {}, "nothing")


def cheapest(
    wants: Sequence[Want], sources: Sequence[Source], terms: Sequence[SupplierTerms], today: date, seconds: float = SECONDS
) -> Choice:
    """Everything that can be bought, in time where anything comes in time, for the least money with carriage.

    `seconds` bounds the search, not the answer: there is one whatever time is given, wherever a plain way exists.
    """
    by_key = {one.key: one for one in terms}
    usable = _usable(sources, by_key)
    buyable = dated(wants, usable, today)
    missing = unbought(wants, sources, usable)
    if not buyable:
        return Choice(NOTHING, None, None, missing, True)
    single = cheapest_single(buyable, usable, by_key, today)
    each = cheapest_each(buyable, usable, by_key, today)
    together, is_proved = _together(buyable, usable, by_key, today, seconds)
    found = [basket for basket in (together, single, each) if basket is not None]
    best = min(found, key=lambda basket: (basket.total, basket.pieces))
    return Choice(best, single, each, missing, is_proved)


def _usable(sources: Sequence[Source], terms: Terms) -> dict[Key, list[Source]]:
    usable: dict[Key, list[Source]] = {}
    for source in sources:
        if source.has_price and source.supplier_key in terms:
            usable.setdefault(source.want_key, []).append(source)
    return usable


def _together(wants: Sequence[Dated], usable: Usable, terms: Terms, today: date, seconds: float) -> tuple[Basket | None, bool]:
    model = Model(wants, usable, terms, today)
    answer = model.solve(seconds)
    basket = _checked(answer, wants, terms, today)
    if answer is None or basket is None:
        return None, False
    if _has_loose_surplus(basket):
        fewer = _checked(model.solve_for_least(basket.total, min(seconds, SECONDS_FOR_FEWER)), wants, terms, today)
        if fewer is not None and (fewer.total, fewer.pieces) < (basket.total, basket.pieces):
            basket = fewer
    return basket, answer.is_proved


def _has_loose_surplus(basket: Basket) -> bool:
    """Whether more is bought than packs and least counts ask for: to reach a smallest order, any part would have done."""
    return any(
        basket.surplus.get(line.source.want_key, 0) >= line.source.pack_size
        and line.count - line.source.pack_size >= line.source.least_count
        for order in basket.orders
        for line in order.lines
    )


def _checked(answer: Answer | None, wants: Sequence[Dated], terms: Terms, today: date) -> Basket | None:
    """The basket in whole numbers; None where rounding the solver's floats left something unmet."""
    if answer is None or faults(answer.counts, wants, terms, today):
        return None
    return basket_of(answer.counts, wants, terms, today, "together")
