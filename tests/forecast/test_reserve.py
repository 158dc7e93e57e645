"""What open warranties may still cost."""

from math import exp

import pytest

from jobs.forecast.reserve import ClaimHistory, OpenWarranty, reserve

FORTY = [OpenWarranty(30, 365, 20000)] * 40


def test_nothing_open_needs_no_reserve() -> None:
    told = reserve([], ClaimHistory())

    assert (told.expected_minor, told.low_minor, told.high_minor, told.n_open) == (0, 0, 0, 0)
    assert told.words == "No warranty is open, so nothing need be set aside."


def test_a_warranty_that_has_run_out_is_not_open() -> None:
    assert reserve([OpenWarranty(365, 0, 20000)], ClaimHistory()).n_open == 0


def test_with_no_history_it_rests_on_what_is_usual() -> None:
    told = reserve(FORTY, ClaimHistory())

    assert told.per_year == pytest.approx(0.025)
    assert told.expected_claims == pytest.approx(1)
    assert told.low_minor <= told.expected_minor <= told.high_minor
    assert told.words == (
        "40 open warranties. Rests on what is usual in the trade (2.5 % of jobs come back), not yet on your own jobs."
    )


def test_claims_of_the_shop_itself_overrule_what_is_usual() -> None:
    often = reserve(FORTY, ClaimHistory(1000, 365_000, 100, (4000,) * 100))
    never = reserve(FORTY, ClaimHistory(1000, 365_000, 0, ()))

    assert often.per_year == pytest.approx(0.1, abs=0.01)
    assert often.expected_minor == pytest.approx(4 * 4000, rel=0.15)
    assert never.expected_minor < often.expected_minor / 10
    assert often.words == "40 open warranties. Rests on 100 claims out of 1000 of your own jobs."
    assert never.words == (
        "40 open warranties. None of your 1000 jobs under warranty came back; what is usual in the trade is weighed in."
    )


def test_the_expected_sum_is_expected_claims_by_the_mean_of_a_log_normal_cost() -> None:
    costs = tuple(round(exp(8 + 0.5 * step)) for step in (-1, 1)) * 200
    told = reserve(FORTY * 10, ClaimHistory(4000, 1_460_000, 400, costs))

    assert told.expected_minor == pytest.approx(told.expected_claims * exp(8 + 0.5**2 / 2), rel=0.05)


def test_many_warranties_narrow_the_range() -> None:
    few, many = (reserve(FORTY * times, ClaimHistory(500, 180_000, 12, (3000,) * 12)) for times in (1, 20))

    assert (many.high_minor - many.low_minor) / many.expected_minor < (few.high_minor - few.low_minor) / few.expected_minor


def test_the_same_question_gets_the_same_answer() -> None:
    assert reserve(FORTY, ClaimHistory()) == reserve(FORTY, ClaimHistory())


def test_one_of_each_is_said_in_the_singular() -> None:
    told = reserve(FORTY[:1], ClaimHistory(30, 9000, 1, (5000,)))

    assert told.words == (
        "1 open warranty. Rests on 1 claim out of 30 of your own jobs and, as these are few, on what is usual in the trade."
    )


def test_figures_below_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="can't be below 0"):
        reserve([OpenWarranty(-1, 5, 100)], ClaimHistory())
