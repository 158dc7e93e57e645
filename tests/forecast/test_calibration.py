"""Past ranges held against what jobs came to."""

import pytest

from jobs.forecast.calibration import calibrate

RIGHT = [(80.0, 100.0, 125.0, 100.0 * 1.01**place) for place in range(-24, 25)]


def test_few_forecasts_change_nothing() -> None:
    told = calibrate([(80.0, 100.0, 125.0, 400.0)] * 19)

    assert (told.factor, told.n, told.inside) == (1.0, 19, 0)
    assert told.words == (
        "19 forecasts can be held against what the job came to yet; from 20 on the ranges are corrected by how well they did."
    )


def test_none_yet_is_said() -> None:
    assert calibrate([]).words.startswith("No forecast can be held against what the job came to yet;")
    assert calibrate([]).share_inside is None


def test_ranges_that_held_too_seldom_are_made_wider() -> None:
    told = calibrate([(95.0, 100.0, 105.0, actual) for *_, actual in RIGHT])

    assert told.factor > 1.5
    assert told.words.startswith("10 of 49 past prices lay within their range (80 of 100 should): it is made")
    assert told.words.endswith(" % wider.")


def test_ranges_that_always_held_are_made_narrower_but_not_by_much() -> None:
    told = calibrate([(50.0, 100.0, 200.0, 100.0)] * 200)

    assert told.factor == pytest.approx(0.7)


def test_ranges_that_did_well_are_left() -> None:
    told = calibrate([(82.5, 100.0, 121.2, actual) for *_, actual in RIGHT])

    assert told.factor == pytest.approx(1, abs=0.03)
    assert told.words == "39 of 49 past prices lay within their range (80 of 100 should): it is left as it is."


def test_rows_with_nothing_to_compare_are_passed_over() -> None:
    assert calibrate([(0.0, 0.0, 0.0, 0.0)] * 30).n == 0
