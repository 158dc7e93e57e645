"""Which copies stay, when the next is due, and when the last is too old. Pure: no database, no clock."""

from datetime import UTC, datetime, timedelta

from shop.backup.schedule import is_due, is_late, last_hour
from shop.backup.standing import age
from shop.backup.thinning import Aged, Plan, going

NOW = datetime(2026, 3, 2, 21, 0, tzinfo=UTC)
PLAN = Plan(days=3, weeks=2, months=2, years=2)


def daily(count: int, **more: bool) -> list[Aged]:
    return [Aged(f"day {ago}", NOW - timedelta(days=ago), True, **more) for ago in range(count)]


def left(copies: list[Aged], plan: Plan = PLAN) -> set[str]:
    return {one.name for one in copies} - set(going(copies, plan, NOW))


def test_the_newest_of_each_day_week_month_and_year_stays() -> None:
    # 2 March 2026 is a Monday: the day before ends the week, two days before ends February's last day but one.
    assert left(daily(500)) == {"day 0", "day 1", "day 2", "day 61"}


def test_of_one_day_only_the_newest_stays_once_two_days_have_passed() -> None:
    morning = Aged("morning", NOW - timedelta(days=2, hours=9), True)
    evening = Aged("evening", NOW - timedelta(days=2, hours=2), True)
    today = [Aged("early", NOW - timedelta(hours=9), True), Aged("late", NOW, True)]
    assert left([morning, evening, *today]) == {"evening", "early", "late"}


def test_the_last_good_one_never_goes_however_old_it_is() -> None:
    old = Aged("old", NOW - timedelta(days=4000), True)
    bad = [Aged(f"bad {ago}", NOW - timedelta(days=ago), False) for ago in range(30)]
    assert "old" in left([old, *bad], Plan(2, 0, 0, 0))
    assert going(bad, PLAN, NOW) == []


def test_one_made_before_new_tables_stays_for_ninety_days() -> None:
    young = Aged("young", NOW - timedelta(days=89), True, is_before_tables=True)
    old = Aged("old", NOW - timedelta(days=91), True, is_before_tables=True)
    assert left([young, old, *daily(3)], Plan(3, 0, 0, 0)) == {"young", "day 0", "day 1", "day 2"}


def test_what_was_kept_by_hand_stays_and_what_is_not_good_goes_after_a_while() -> None:
    kept = Aged("kept", NOW - timedelta(days=900), True, is_kept=True)
    bad = Aged("bad", NOW - timedelta(days=15), False)
    fresh = Aged("fresh", NOW - timedelta(days=13), False)
    assert left([kept, bad, fresh, *daily(1)], Plan(2, 0, 0, 0)) == {"kept", "fresh", "day 0"}


def test_a_copy_is_due_once_the_hour_has_passed_since_the_last_good_one() -> None:
    at = NOW.replace(hour=20, minute=30)
    assert last_hour(20, at) == at.replace(minute=0)
    assert last_hour(21, at) == at.replace(hour=21, minute=0) - timedelta(days=1)
    assert is_due(20, at, at - timedelta(hours=1), None)
    assert not is_due(20, at, at - timedelta(minutes=10), None)
    assert is_due(20, at, None, None)


def test_a_machine_that_was_off_catches_up_and_waits_an_hour_after_trouble() -> None:
    morning = NOW.replace(hour=9)
    yesterday_noon = morning - timedelta(hours=21)
    assert is_due(20, morning, yesterday_noon, None)
    assert not is_due(20, morning, yesterday_noon, morning - timedelta(minutes=59))
    assert is_due(20, morning, yesterday_noon, morning - timedelta(minutes=60))


def test_it_is_late_after_the_hours_of_the_plan_and_says_how_old_in_words() -> None:
    assert is_late(36, NOW, None)
    assert is_late(36, NOW, NOW - timedelta(hours=36, minutes=1))
    assert not is_late(36, NOW, NOW - timedelta(hours=36))
    words = [age(timedelta(**one)) for one in ({"minutes": 5}, {"hours": 1}, {"hours": 47}, {"hours": 49})]
    assert words == ["less than an hour", "1 hour", "47 hours", "2 days"]
