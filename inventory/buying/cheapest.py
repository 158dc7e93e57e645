"""The cheapest basket: the solver's answer in whole numbers, held against the two plain ways of buying."""

from collections.abc import Sequence
from datetime import date

from inventory.buying.baskets import Basket, Choice, Terms, basket_of, faults
from inventory.buying.deadlines import Dated, dated, unbought
from inventory.buying.model import Answer, Model
from inventory.buying.plain import Usable, cheapest_each, cheapest_single
from inventory.buying.wants import COIN_MILLI, Key, Source, SupplierTerms, Want

# A person waits for the page; what isn't proved by then is said to be the best that was found.
SECONDS = 5.0
SECONDS_FOR_FEWER = 1.0
NOTHING = Basket((), (), {}, "nothing")


def cheapest(
    wants: Sequence[Want], sources: Sequence[Source], terms: Sequence[SupplierTerms], today: date, seconds: float = SECONDS
) -> Choice:
    """Everything that can be bought, in time where anything comes in time, for the least money with carriage.

    Each line is rounded to the coin, as on an order. Cheapest means but for that rounding: to the coin where prices are whole.
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
    """The solver's basket, and whether nothing costs less but for the rounding of lines."""
    model = Model(wants, usable, terms, today)
    answer = model.solve(seconds)
    basket = _checked(answer, wants, terms, today)
    if answer is None or basket is not None:
        return _with_fewer(model, basket, wants, seconds), answer is not None and answer.is_proved
    strict = Model(wants, usable, terms, today, strict=True)
    stricter = strict.solve(seconds)
    basket = _with_fewer(strict, _checked(stricter, wants, terms, today), wants, seconds)
    if stricter is None or basket is None:
        return basket, False
    # Refused was what fell short by rounding alone; where that saved no more than rounding does, it proves this one.
    lines = sum(len(order.lines) for order in basket.orders)
    is_near = basket.total <= basket_of(answer.counts, wants, terms, today, "refused").total + lines * COIN_MILLI
    return basket, answer.is_proved and stricter.is_proved and is_near


def _with_fewer(model: Model, basket: Basket | None, wants: Sequence[Dated], seconds: float) -> Basket | None:
    """Of baskets that cost the same the one with the fewest pieces."""
    if basket is None or not _has_loose_surplus(basket):
        return basket
    answer = model.solve_for_least(basket.total, min(seconds, SECONDS_FOR_FEWER))
    fewer = _checked(answer, wants, model.terms, model.today)
    return fewer if fewer is not None and (fewer.total, fewer.pieces) < (basket.total, basket.pieces) else basket


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
