"""What a set may come to: from nothing but what is usual up to a set where all is settled."""

import random
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.forecast.durations import SetLike
from jobs.forecast.history import learn_from
from jobs.forecast.likelihood import Cell
from jobs.forecast.total import CasePosition, CaseStep, SetCase, forecast
from tests.forecast.jobs import LIKE, RATE, a_case, a_past_job

USUAL = learn_from([])


def test_with_no_history_it_says_that_it_rests_on_what_is_usual() -> None:
    outlook = forecast(a_case(), USUAL, rate_minor_per_hour=RATE)

    assert outlook.words == "Rests on what is usual in the trade, not yet on your own sets."
    assert outlook.from_jobs == 0
    assert outlook.low_minor < outlook.median_minor < outlook.high_minor


@pytest.mark.parametrize(
    ("jobs", "words"),
    [
        (1, "Rests on 1 of your own jobs and, as these are few, mostly on what is usual in the trade."),
        (5, "Rests on 5 of your own jobs and, as these are few, mostly on what is usual in the trade."),
        (20, "Rests on 20 of your own jobs."),
    ],
)
def test_words_say_how_many_jobs_it_rests_on(jobs: int, words: str) -> None:
    assert forecast(a_case(), learn_from([a_past_job()] * jobs), rate_minor_per_hour=RATE).words == words


def test_the_same_question_gets_the_same_answer() -> None:
    learnt = learn_from([a_past_job(count) for count in range(8)])

    assert forecast(a_case(), learnt, rate_minor_per_hour=RATE) == forecast(a_case(), learnt, rate_minor_per_hour=RATE)


def test_the_order_of_jobs_makes_no_difference() -> None:
    jobs = [a_past_job(count, 60 + 20 * count, 300 + 50 * count, days_ago=10 * count) for count in range(10)]
    mixed = random.Random(3).sample(jobs, len(jobs))

    assert forecast(a_case(), learn_from(mixed), rate_minor_per_hour=RATE) == forecast(
        a_case(), learn_from(jobs), rate_minor_per_hour=RATE
    )


def test_jobs_that_all_came_to_the_same_are_forecast_closely() -> None:
    outlook = forecast(a_case(), learn_from([a_past_job(5)] * 120), rate_minor_per_hour=RATE)
    came_to = a_past_job(5).billed_minor or 0

    assert outlook.low_minor < came_to < outlook.high_minor
    assert outlook.median_minor == pytest.approx(came_to, rel=0.1)
    assert outlook.replaced == (5, 5, 5) or outlook.replaced[0] <= 5 <= outlook.replaced[2]


def test_own_jobs_narrow_the_range() -> None:
    usual = forecast(a_case(), USUAL, rate_minor_per_hour=RATE)
    own = forecast(a_case(), learn_from([a_past_job(5)] * 40), rate_minor_per_hour=RATE)

    assert own.high_minor / own.low_minor < usual.high_minor / usual.low_minor


def test_what_is_settled_leaves_only_the_doubt_of_the_bill() -> None:
    positions = (CasePosition("C1", Cell("coupling"), True, 400), CasePosition("V1", Cell("valve"), False))
    case = SetCase(LIKE, positions, (CaseStep("repair", True, 60), CaseStep("cabinet", False)), fees_minor=1000, tax_factor=1.2)
    outlook = forecast(case, learn_from([a_past_job()] * 200), rate_minor_per_hour=RATE)

    assert outlook.median_minor == pytest.approx((400 + 6000) * 1.2 + 1000, rel=0.02)
    assert outlook.high_minor < 1.1 * outlook.median_minor
    assert outlook.replaced == (1, 1, 1)
    assert not outlook.chances
    assert not outlook.most_worth_measuring


def test_fees_and_tax_are_added_on_top() -> None:
    plain = forecast(a_case(), USUAL, rate_minor_per_hour=RATE)
    taxed = forecast(a_case(fees_minor=2500, tax_factor=1.2), USUAL, rate_minor_per_hour=RATE)

    assert taxed.median_minor == pytest.approx(plain.median_minor * 1.2 + 2500, abs=2)


def test_bad_positions_make_the_others_of_the_set_likelier() -> None:
    bad = forecast(a_case(replaced=5), USUAL, rate_minor_per_hour=RATE).chances["P6"]
    good = forecast(
        SetCase(LIKE, tuple(CasePosition(one.key, one.cell, False if one.replace else None) for one in a_case(5).positions), ()),
        USUAL,
        rate_minor_per_hour=RATE,
    ).chances["P6"]

    assert good < bad


def test_chances_agree_with_what_the_log_says_of_their_kind() -> None:
    learnt = learn_from([a_past_job(count % 10) for count in range(40)])
    outlook = forecast(a_case(), learnt, rate_minor_per_hour=RATE)

    for key, chance in outlook.chances.items():
        assert chance == pytest.approx(outlook.reasons[key].mean, abs=0.04)


def test_histogram_and_quantiles_hold_together() -> None:
    outlook = forecast(a_case(), USUAL, rate_minor_per_hour=RATE)

    assert sum(one.share for one in outlook.bins) == pytest.approx(1)
    assert all(one.to_minor == after.from_minor for one, after in zip(outlook.bins, outlook.bins[1:], strict=False))
    assert dict(outlook.quantiles)[0.5] == outlook.median_minor


def test_a_set_without_positions_or_steps_comes_to_its_fees() -> None:
    outlook = forecast(SetCase(SetLike(), (), (), fees_minor=4500), USUAL, rate_minor_per_hour=RATE)

    assert (outlook.low_minor, outlook.median_minor, outlook.high_minor) == (4500, 4500, 4500)
    assert [(one.from_minor, one.to_minor, one.share) for one in outlook.bins] == [(4500, 4500, 1.0)]


def test_a_wider_range_keeps_its_middle() -> None:
    plain = forecast(a_case(), USUAL, rate_minor_per_hour=RATE)
    wide = forecast(a_case(), learn_from([], widening=1.5), rate_minor_per_hour=RATE)

    assert wide.median_minor == pytest.approx(plain.median_minor, abs=2)
    assert wide.low_minor < plain.low_minor
    assert wide.high_minor > plain.high_minor


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10), st.integers(0, 10), st.integers(0, 10**6), st.integers(0, 6), st.floats(1, 10**6))
def test_quantiles_run_upwards_and_chances_lie_between(bad: int, good: int, fees: int, jobs: int, rate: float) -> None:
    outlook = forecast(a_case(bad, good, fees), learn_from([a_past_job()] * jobs), rate_minor_per_hour=rate)
    sums = [minor for _, minor in outlook.quantiles]

    assert sums == sorted(sums)
    assert sums[0] >= 0
    assert all(0 < chance < 1 for chance in outlook.chances.values())
    assert 0 <= outlook.low_minor <= outlook.median_minor <= outlook.high_minor


def test_a_dear_part_in_doubt_is_worth_measuring_before_a_cheap_sure_one() -> None:
    positions = (
        CasePosition("T1", Cell("mains_transformer"), price_minor=90000, measure_minutes=5),
        CasePosition("C1", Cell("coupling"), price_minor=200, measure_minutes=5),
    )
    learnt = learn_from([a_past_job()] * 60)
    first = forecast(SetCase(LIKE, positions, ()), learnt, rate_minor_per_hour=RATE).most_worth_measuring[0]

    assert first.key == "T1"
    assert first.share > 0.4
    assert first.swing_minor > 45000
    assert first.words.endswith("of the doubt about the price away.")


def test_of_two_alike_the_one_measured_sooner_comes_first() -> None:
    positions = tuple(
        CasePosition(key, Cell("valve"), price_minor=5000, measure_minutes=cost) for key, cost in (("V1", 20), ("V2", 4))
    )
    ranked = forecast(SetCase(LIKE, positions, ()), USUAL, rate_minor_per_hour=RATE).most_worth_measuring

    assert [one.key for one in ranked] == ["V2", "V1"]
    assert ranked[0].share == pytest.approx(ranked[1].share, rel=0.2)


@pytest.mark.parametrize(
    "gap",
    [{"positions": (), "minutes": (), "billed_minor": None}, {"minutes": ()}, {"rate_minor_per_hour": 0.0}, {"billed_minor": 0}],
)
def test_a_job_that_lacks_something_breaks_nothing(gap: dict[str, Any]) -> None:
    odd = forecast(a_case(), learn_from([replace(a_past_job(), **gap)] * 3), rate_minor_per_hour=RATE)

    assert odd.from_jobs == 3
    assert 0 < odd.low_minor < odd.median_minor < odd.high_minor


def test_bills_without_logged_work_say_nothing_of_what_bills_hold_besides() -> None:
    unlogged = [replace(a_past_job(), minutes=(), billed_minor=40_000)] * 30
    settled = SetCase(LIKE, (), (CaseStep("repair", True, 60),))

    assert forecast(settled, learn_from(unlogged), rate_minor_per_hour=RATE).median_minor == pytest.approx(6000, rel=0.02)
