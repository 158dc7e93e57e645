"""Which copies are kept: pure, over what is known of each."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

BEFORE_TABLES_KEPT = timedelta(days=90)
# Several of one day stay for a while: who asks for a copy before something risky wants it the day after.
LATELY = timedelta(days=2)
NOT_GOOD_KEPT = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Aged:
    """`at` in the shop's time, since days and weeks are the shop's."""

    name: str
    at: datetime
    is_good: bool
    is_kept: bool = False
    is_before_tables: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """How many days, weeks, months and years keep their newest good copy, counted over those that have one."""

    days: int
    weeks: int
    months: int
    years: int


def going(copies: Sequence[Aged], plan: Plan, at: datetime) -> list[str]:
    """Names of those that may go. The newest good copy never goes, nor anything newer than it."""
    newest_first = sorted(copies, key=lambda one: one.at, reverse=True)
    good = [one for one in newest_first if one.is_good]
    if not good:
        return []
    staying = {good[0].name} | _of_periods(good, plan) | {one.name for one in copies if _stays_anyway(one, good[0], at)}
    return [one.name for one in newest_first if one.name not in staying]


def _stays_anyway(one: Aged, newest_good: Aged, at: datetime) -> bool:
    if one.is_kept or one.at >= newest_good.at or (one.is_good and at - one.at < LATELY):
        return True
    if one.is_before_tables and at - one.at < BEFORE_TABLES_KEPT:
        return True
    # What isn't good is kept for a while, as somebody may want to know why, or save what can be saved.
    return not one.is_good and at - one.at < NOT_GOOD_KEPT


def _of_periods(good: Sequence[Aged], plan: Plan) -> set[str]:
    periods: tuple[tuple[int, Callable[[datetime], Any]], ...] = (
        (plan.days, lambda at: at.date()),
        (plan.weeks, lambda at: at.isocalendar()[:2]),
        (plan.months, lambda at: (at.year, at.month)),
        (plan.years, lambda at: at.year),
    )
    return {name for count, of in periods for name in _newest_of_each(good, of, count)}


def _newest_of_each(good: Sequence[Aged], period_of: Callable[[datetime], Any], count: int) -> list[str]:
    newest: dict[Any, str] = {}
    for one in good:
        newest.setdefault(period_of(one.at), one.name)
    return list(newest.values())[:count]
