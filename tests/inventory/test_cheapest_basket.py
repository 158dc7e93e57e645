"""The cheapest basket: never dearer than buying plainly, in time, in whole packs; on small cases what trying everything finds."""

from datetime import date, timedelta
from fractions import Fraction

import pytest

from inventory.buying import Basket, Choice, Source, SupplierTerms, Want, cheapest
from tests.inventory.buying_cases import POUND, TODAY, Case, a_case, a_small_case, cheapest_by_trying

NEXT_WEEK = TODAY + timedelta(days=7)


def counts_of(basket: Basket) -> dict[object, int]:
    return {line.source.offer_key: line.count for order in basket.orders for line in order.lines}


def check(choice: Choice, case: Case) -> None:
    """What every basket must keep, reckoned here once more."""
    wants, _, terms = case
    basket, by_key = choice.best, {one.key: one for one in terms}
    came: dict[object, list[tuple[date, int]]] = {}
    for order in basket.orders:
        goods = 0
        for line in order.lines:
            source = line.source
            assert line.count % source.pack_size == 0
            assert line.count >= source.least_count
            unit = next(unit for start, unit in reversed(source.breaks) if start <= line.count or start == 1)
            goods += (line.count * unit + 500) // 1000 * 1000
            came.setdefault(source.want_key, []).append((TODAY + timedelta(days=source.lead_days), line.count))
        own = by_key[order.terms.key]
        assert goods == order.goods_milli
        assert goods >= own.minimum_order_milli
        is_free = own.carriage_free_from_milli is not None and goods >= own.carriage_free_from_milli
        assert order.carriage_milli == (0 if is_free else own.carriage_milli)
    for delivery in basket.deliveries:
        promised = [one.want for one in basket.deliveries if one.want.key == delivery.want.key]
        by = max(one.arrives_on for one in basket.deliveries if one.want.key == delivery.want.key)
        there = sum(count for day, count in came[delivery.want.key] if day <= by)
        assert there >= sum(want.count for want in promised)
    assert len(basket.deliveries) + len(choice.unbought) == len(wants)
    assert not [one for one in basket.deliveries if one.arrives_on == date.max]


def could_be_in_time(want: Want, sources: list[Source]) -> bool:
    days = [TODAY + timedelta(days=one.lead_days) for one in sources if one.want_key == want.key]
    return bool(days) and (want.needed_on is None or min(days) <= want.needed_on)


def _by_trying(choice: Choice, case: Case) -> Fraction | None:
    bought = [one.want for one in choice.best.deliveries]
    return cheapest_by_trying((bought, case[1], case[2]), [_bought_for(want, case[1]) for want in bought]) if bought else None


@pytest.mark.parametrize("seed", range(60))
def test_on_small_cases_it_is_what_trying_everything_finds(seed: int) -> None:
    case = a_small_case(seed)
    choice = cheapest(*case, TODAY)
    check(choice, case)
    assert choice.is_proved
    assert choice.best.total == (_by_trying(choice, case) or 0)


@pytest.mark.parametrize("seed", range(20))
def test_with_prices_finer_than_a_coin_it_is_within_the_rounding_of_the_lines(seed: int) -> None:
    case = a_small_case(seed, finest=1)
    choice = cheapest(*case, TODAY)
    check(choice, case)
    least = _by_trying(choice, case) or Fraction(0)
    assert least <= choice.best.total
    assert not choice.is_proved or choice.best.total <= least + len(case[1]) * 1000 * max(one.rate for one in case[2])


def _bought_for(want: Want, sources: list[Source]) -> date | None:
    """A want that nothing can meet in time is bought where it comes first."""
    first = min(TODAY + timedelta(days=one.lead_days) for one in sources if one.want_key == want.key)
    return None if want.needed_on is None else max(first, want.needed_on)


@pytest.mark.parametrize("seed", range(30))
def test_a_basket_is_never_dearer_than_a_plain_one_and_keeps_every_day_that_can_be_kept(seed: int) -> None:
    case = a_case(seed, 4 + seed % 9, 2 + seed % 4)
    choice = cheapest(*case, TODAY)
    check(choice, case)
    for plain in (choice.single, choice.each):
        assert plain is None or choice.best.total <= plain.total
    for delivery in choice.best.deliveries:
        assert delivery.is_late != could_be_in_time(delivery.want, case[1])


def test_one_carriage_is_cheaper_than_two_low_prices() -> None:
    """By hand: all from B 6.00 + 4.40 + 4.00 carriage = 14.40; each where it is cheapest 6.00 + 4.00 + 4.00 + 5.00 = 19.00."""
    terms = [SupplierTerms("A", carriage_milli=5 * POUND), SupplierTerms("B", carriage_milli=4 * POUND)]
    sources = [
        Source("film", "B-film", "B", ((1, 3 * POUND),)),
        Source("lytic", "B-lytic", "B", ((1, 220_000),)),
        Source("lytic", "A-lytic", "A", ((1, 2 * POUND),)),
    ]
    choice = cheapest([Want("film", 2), Want("lytic", 2)], sources, terms, TODAY)
    assert choice.best.total == 1_440_000
    assert choice.each is not None
    assert choice.each.total == 1_900_000
    assert counts_of(choice.best) == {"B-film": 2, "B-lytic": 2}


def test_more_is_bought_where_a_break_makes_it_cheaper_and_the_surplus_is_told() -> None:
    """By hand: 9 at 1.00 are 9.00; 10 at 0.80 are 8.00."""
    choice = cheapest([Want("film", 9)], [Source("film", "F", "A", ((1, POUND), (10, 80_000)))], [SupplierTerms("A")], TODAY)
    assert choice.best.total == 8 * POUND
    assert dict(choice.best.surplus) == {"film": 1}


def test_more_is_bought_where_it_saves_the_carriage() -> None:
    """By hand: 9 at 1.00 with 3.00 carriage are 12.00; 10 go free of carriage for 10.00."""
    terms = [SupplierTerms("A", carriage_milli=3 * POUND, carriage_free_from_milli=10 * POUND)]
    choice = cheapest([Want("film", 9)], [Source("film", "F", "A", ((1, POUND),))], terms, TODAY)
    assert choice.best.total == 10 * POUND
    assert choice.best.orders[0].carriage_milli == 0


def test_a_smallest_order_is_filled_with_the_fewest_pieces() -> None:
    """5.00 of goods, 12.00 at least: one more valve at 7.00 does what 70 resistors would do, too."""
    sources = [Source("valve", "V", "A", ((1, 7 * POUND),)), Source("r", "R", "A", ((1, 10_000),))]
    choice = cheapest([Want("r", 50)], sources, [SupplierTerms("A", minimum_order_milli=12 * POUND)], TODAY)
    assert choice.best.total == 12 * POUND
    both = cheapest([Want("r", 50), Want("valve", 1)], sources, [SupplierTerms("A", minimum_order_milli=19 * POUND)], TODAY)
    assert counts_of(both.best) == {"R": 50, "V": 2}


def test_packs_and_least_counts_are_kept() -> None:
    source = Source("film", "F", "A", ((1, 1_000),), pack_size=10, least_count=25)
    choice = cheapest([Want("film", 3)], [source], [SupplierTerms("A")], TODAY)
    assert counts_of(choice.best) == {"F": 30}
    assert choice.best.orders[0].lines[0].packs == 3


def test_what_is_needed_soon_comes_dear_and_fast_and_the_rest_cheap_and_slow() -> None:
    """By hand: 2 at 2.00 by Friday, 10 at 1.00 whenever: 14.00; all of them fast were 24.00."""
    sources = [
        Source("film", "fast", "A", ((1, 2 * POUND),), lead_days=2),
        Source("film", "slow", "B", ((1, POUND),), lead_days=20),
    ]
    wants = [Want("film", 10), Want("film", 2, NEXT_WEEK)]
    choice = cheapest(wants, sources, [SupplierTerms("A"), SupplierTerms("B")], TODAY)
    assert counts_of(choice.best) == {"fast": 2, "slow": 10}
    assert choice.best.total == 14 * POUND
    assert {one.want.count: one.arrives_on for one in choice.best.deliveries} == {
        2: TODAY + timedelta(days=2),
        10: TODAY + timedelta(days=20),
    }


def test_what_nobody_brings_in_time_is_bought_where_it_comes_first_and_said_to_be_late() -> None:
    sources = [
        Source("film", "slow", "A", ((1, POUND),), lead_days=30),
        Source("film", "slowest", "A", ((1, POUND // 2),), lead_days=60),
    ]
    choice = cheapest([Want("film", 1, NEXT_WEEK)], sources, [SupplierTerms("A")], TODAY)
    assert counts_of(choice.best) == {"slow": 1}
    assert [one.arrives_on for one in choice.best.late] == [TODAY + timedelta(days=30)]


def test_what_nobody_sells_or_prices_is_told_apart() -> None:
    sources = [Source("film", "F", "A", ((1, POUND),)), Source("can", "C", "A", ((1, 0),))]
    choice = cheapest([Want("film", 1), Want("can", 1), Want("choke", 1)], sources, [SupplierTerms("A")], TODAY)
    assert [(one.want.key, one.why) for one in choice.unbought] == [("can", "no_price"), ("choke", "no_offer")]
    assert counts_of(choice.best) == {"F": 1}


def test_nothing_to_buy_is_a_basket_of_nothing() -> None:
    choice = cheapest([], [], [], TODAY)
    assert (choice.best.orders, choice.best.total, choice.is_proved) == ((), 0, True)


def test_smallest_orders_and_carriage_are_reckoned_in_the_suppliers_own_money() -> None:
    """50.00 of theirs at 0.865: the threshold is reached by 50 pieces of 1.00, not by the 58 that 50.00 of ours would take."""
    terms = [SupplierTerms("A", 50 * POUND, 4 * POUND, 50 * POUND, rate=Fraction(865, 1000))]
    choice = cheapest([Want("film", 1)], [Source("film", "F", "A", ((1, POUND),))], terms, TODAY)
    assert counts_of(choice.best) == {"F": 50}
    assert choice.best.total == Fraction(865, 1000) * 50 * POUND


def test_a_smallest_order_is_reached_by_lines_as_the_order_rounds_them() -> None:
    """5 at 0.0288 and 1 at 0.85501 come to 0.99901, on the order 0.14 + 0.86 = 1.00; with 0.85499 only to 0.99 on the order."""
    terms = [SupplierTerms("A", minimum_order_milli=POUND)]
    resistor = Source("r", "R", "A", ((1, 2_880),))
    for unit in (85_501, 85_499):
        valve = Source("valve", "V", "A", ((1, unit),))
        best = cheapest([Want("r", 5), Want("valve", 1)], [resistor, valve], terms, TODAY).best
        assert POUND <= best.total <= POUND + 2_000


def test_without_time_to_search_the_plain_basket_is_given_and_not_called_the_cheapest() -> None:
    case = a_case(7, 12, 4)
    choice = cheapest(*case, TODAY, seconds=0.0)
    check(choice, case)
    assert choice.best.total <= min(plain.total for plain in (choice.single, choice.each) if plain is not None)


@pytest.mark.parametrize("breaks", [(), ((10, 5), (1, 7)), ((1, 5), (1, 6))])
def test_breaks_that_do_not_rise_are_a_fault_of_the_caller(breaks: tuple[tuple[int, int], ...]) -> None:
    with pytest.raises(ValueError, match="must rise"):
        Source("film", "F", "A", breaks)


@pytest.mark.parametrize("size", [POUND * 10_000_000, POUND * 1_000])
def test_dear_things_are_reckoned_to_the_last_coin(size: int) -> None:
    terms = [SupplierTerms("A", carriage_milli=3_000), SupplierTerms("B", carriage_milli=2_000)]
    sources = [Source("x", "A-x", "A", ((1, size),)), Source("x", "B-x", "B", ((1, size),))]
    choice = cheapest([Want("x", 3)], sources, terms, TODAY)
    assert choice.best.total == 3 * size + 2_000
