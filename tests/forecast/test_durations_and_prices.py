"""Minutes of steps and prices of parts: what is usual, and how the shop's own log overrules it."""

import random
from statistics import median

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.forecast.durations import SetLike, learn_times
from jobs.forecast.prices import Priced, learn_prices
from jobs.forecast.priors import role_prior, step_prior
from jobs.forecast.rest import learn_rest

LIKE = SetLike("table set", 5)


def test_with_no_history_times_are_the_usual_ones() -> None:
    told = learn_times([]).of("inspection", LIKE)

    assert told.median == pytest.approx(step_prior("inspection").minutes)
    assert told.low < told.median < told.high
    assert told.n == 0
    assert told.often == pytest.approx(0.98)


def test_many_jobs_overrule_the_usual_time() -> None:
    told = learn_times([(LIKE, [("inspection", 20.0)], 0, 1.0)] * 60).of("inspection", LIKE)

    assert told.median == pytest.approx(20, rel=0.1)
    assert told.n == 60


def test_a_step_never_done_here_becomes_seldom() -> None:
    assert learn_times([(LIKE, [("inspection", 60.0)], 0, 1.0)] * 40).of("alignment", LIKE).often < 0.1


def test_a_slow_shop_is_expected_to_be_slow_in_steps_it_never_logged() -> None:
    slow = learn_times([(LIKE, [("inspection", 300.0), ("repair", 600.0)], 10, 1.0)] * 30)

    assert slow.of("alignment", LIKE).median > 1.2 * step_prior("alignment").minutes


def test_more_valves_and_more_parts_take_longer() -> None:
    usual = learn_times([])

    assert usual.of("alignment", SetLike(valves=12)).median > usual.of("alignment", SetLike(valves=4)).median
    assert usual.of("repair", LIKE, 30).median > usual.of("repair", LIKE, 5).median
    assert usual.per_replaced(LIKE) > 0


def test_minutes_for_each_replaced_part_are_learned() -> None:
    quick = learn_times([(LIKE, [("repair", 100.0 + count)], count, 1.0) for count in range(2, 40)])
    slow = learn_times([(LIKE, [("repair", 20.0 * (1 + count))], count, 1.0) for count in range(2, 40)])

    assert quick.per_replaced(LIKE) < learn_times([]).per_replaced(LIKE) < slow.per_replaced(LIKE)


def test_each_class_of_sets_has_its_own_pace() -> None:
    jobs = [(SetLike(kind, 5), [("repair", minutes)], 10, 1.0) for kind, minutes in (("console", 400.0), ("portable", 90.0))] * 20
    learnt = learn_times(jobs)

    assert learnt.of("repair", SetLike("console", 5)).median > 2 * learnt.of("repair", SetLike("portable", 5)).median


def test_even_work_narrows_the_range_and_uneven_work_widens_it() -> None:
    even = learn_times([(LIKE, [("repair", 100.0 + place % 5)], 10, 1.0) for place in range(40)]).of("repair", LIKE)
    uneven = learn_times([(LIKE, [("repair", 100.0 * 3 ** (place % 3 - 1))], 10, 1.0) for place in range(40)]).of("repair", LIKE)

    assert even.high / even.low < 2 < uneven.high / uneven.low


def test_a_set_of_which_nothing_is_known_has_times_too() -> None:
    assert learn_times([]).of("repair", SetLike()).median == pytest.approx(step_prior("repair").minutes)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.floats(1, 900), st.integers(0, 40)), max_size=12), st.randoms())
def test_the_order_of_jobs_makes_no_difference_to_times(rows: list[tuple[float, int]], dice: random.Random) -> None:
    jobs = [(LIKE, [("repair", minutes)], count, 1.0) for minutes, count in rows]
    told = learn_times(jobs).of("repair", LIKE, 10)
    mixed = list(jobs)
    dice.shuffle(mixed)
    again = learn_times(mixed).of("repair", LIKE, 10)

    assert again.median == pytest.approx(told.median)
    assert 0 < told.low < told.median < told.high


def test_prices_are_the_usual_ones_until_the_shop_has_its_own() -> None:
    usual = learn_prices([]).of("coupling", "film", 6000)
    own = learn_prices([([Priced("coupling", "film", 12.0)], 1.0)] * 50).of("coupling", "film", 6000)

    assert usual.median_minor == role_prior("coupling").price_minutes * 100
    assert own.median_minor == pytest.approx(1200, rel=0.1)
    assert own.low_minor < own.median_minor < own.high_minor


def test_a_dear_shop_is_expected_to_be_dear_in_parts_it_never_sold() -> None:
    dear = learn_prices([([Priced("coupling", "film", 12.0), Priced("bypass", "film", 12.0)], 1.0)] * 20)

    assert dear.of("valve", "", 6000).median_minor > 1.2 * learn_prices([]).of("valve", "", 6000).median_minor


def test_what_bills_hold_besides_is_learned() -> None:
    import numpy as np

    rest = learn_rest([(1.25, 1.0)] * 40 + [(80.0, 1.0)])

    assert median(rest.drawn(np.random.default_rng(1), 500).tolist()) == pytest.approx(1.25, rel=0.03)
