"""The short form of the back-test: on invented shops whose truth is known, ranges hold what they promise and history helps."""

from functools import cache
from statistics import fmean

from tests.forecast.back_test import Held, coverage, deciles, held_back, losses
from tests.forecast.shops import KINDS

# The long run (python -m tests.forecast.back_test) holds 76 to 84 %; so few jobs scatter by some percent more.
BAND = (0.70, 0.90)


@cache
def _held() -> tuple[Held, ...]:
    return tuple(one for number, kind in enumerate(KINDS) for one in held_back(kind, 500 + number, (0, 24), 5, 500))


def test_the_range_holds_about_eighty_of_a_hundred() -> None:
    share, _ = coverage(_held())

    assert BAND[0] < share < BAND[1]


def test_the_error_falls_and_the_range_narrows_with_history() -> None:
    none, more = ([one for one in _held() if one.past == past] for past in (0, 24))

    assert fmean(one.error for one in more) < fmean(one.error for one in none)
    assert fmean(one.width for one in more) < fmean(one.width for one in none)


def test_chances_beat_what_is_usual_alone() -> None:
    brier, usual_brier, loss, usual_loss = losses(one for one in _held() if one.past == 24)

    assert brier < 0.9 * usual_brier
    assert loss < 0.9 * usual_loss


def test_of_positions_called_likely_as_many_are_replaced() -> None:
    for said, was, count in deciles(one for one in _held() if one.past):
        if count > 100:
            assert abs(said - was) < 0.12
