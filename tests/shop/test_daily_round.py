"""The daily round: once a day, by one process, after the daily copy; and counting at one moment."""

from dataclasses import replace
from typing import Any

import pytest
from django.db import connection

from inventory.models import Movement
from inventory.queries.house import value
from shop.backup import standing
from shop.clock import now
from shop.models import Tally
from shop.tallies import few, moment
from shop.tallies.counting import asked
from shop.works import daily_round
from tests.builders import a_lot, a_part, a_profile
from tests.conftest import StillClock


@pytest.fixture(autouse=True)
def _shop(db: None, still_clock: StillClock) -> None:
    a_profile()


@pytest.fixture
def copied(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(standing, "is_due", lambda at: False)


def test_one_process_goes_round_once_a_day(copied: None, still_clock: StillClock) -> None:
    assert daily_round.is_due(now())
    assert daily_round.claim(now())
    assert not daily_round.is_due(now())
    assert not daily_round.claim(now())
    still_clock.forward(days=1)
    assert daily_round.is_due(now())
    assert daily_round.claim(now())
    assert Tally.objects.filter(page=daily_round.ROUND).count() == 1


def test_it_waits_for_the_daily_copy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(standing, "is_due", lambda at: True)
    assert not daily_round.is_due(now())


def test_only_what_is_too_large_for_a_look_is_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    a_lot(a_part())
    monkeypatch.setattr(daily_round, "refresh_planner", lambda: None)
    daily_round.go_round()
    assert not Tally.objects.exists()
    large = replace(value.STOCK_VALUE, is_small=lambda: False, usual=lambda: ({}, {"kind": "valve"}))
    monkeypatch.setattr(daily_round, "COUNTINGS", {large.page: large})
    daily_round.go_round()
    assert sorted(Tally.objects.values_list("question", flat=True)) == ["", '{"kind":"valve"}']


def test_what_is_left_empty_is_not_asked() -> None:
    assert asked({"kind": "", "day": ""}) == ""
    assert asked({"b": "2", "a": "1"}) == '{"a":"1","b":"2"}'


def test_rows_are_counted_no_further_than_asked() -> None:
    a_lot(a_part())
    assert few(Movement, most=1)
    a_lot(a_part())
    assert not few(Movement, most=1)


@pytest.mark.django_db(transaction=True)
@pytest.mark.looks
def test_what_is_written_meanwhile_is_all_in_it_or_not_at_all() -> None:
    looks: list[int] = []

    def count() -> Any:
        looks.append(Movement.objects.count())
        if len(looks) == 1:
            a_lot(a_part())
        return looks[-1], Movement.objects.count()

    a_lot(a_part())
    assert moment.at_one_moment(count) == (2, 2)
    assert looks == [1, 2]
    assert connection.in_atomic_block is False
