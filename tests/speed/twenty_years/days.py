"""Days as the database writes them, and when work comes into a shop: growth over the years, seasons, weekdays."""

from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

from tests.speed.twenty_years.sizes import YEARS

GROWTH_A_YEAR = 0.06
# Sets are brought when evenings grow long. Common practice, no source.
BY_MONTH = (1.2, 1.15, 1.05, 0.95, 0.85, 0.75, 0.7, 0.75, 1.0, 1.15, 1.25, 1.2)
BY_WEEKDAY = (1.3, 1.1, 1.0, 1.0, 1.1, 0.0, 0.0)
FIRST = date(2000, 1, 1)
TEXTS = [(FIRST + timedelta(days=one)).isoformat() for one in range(22_000)]
"""Every day from the first on, as text."""


def number_of(day: date) -> int:
    return (day - FIRST).days


def number_of_text(text: str) -> int:
    return number_of(date.fromisoformat(text[:10]))


def year_of(number: int) -> int:
    return int(TEXTS[number][:4])


def intake_days(count: int, before: date, rng: Any) -> Any:
    """`count` sorted numbers of days over the years before a day."""
    last = number_of(before)
    every = np.arange(last - 365 * YEARS, last)
    weights = np.array([_weight(FIRST + timedelta(days=int(one)), one - every[0]) for one in every])
    return np.sort(rng.choice(every, size=count, p=weights / weights.sum()))


def _weight(day: date, since: float) -> float:
    return float((1 + GROWTH_A_YEAR) ** (since / 365) * BY_MONTH[day.month - 1] * BY_WEEKDAY[day.weekday()])


def moment(seconds: int) -> str:
    """Seconds since the first day as SQLite writes that moment, in UTC; PostgreSQL reads it in a session that keeps UTC."""
    day, rest = divmod(seconds, 86_400)
    return f"{TEXTS[day]} {rest // 3600:02d}:{rest // 60 % 60:02d}:{rest % 60:02d}"


def seconds_of(text: str) -> int:
    """Seconds since the first day of a moment written so."""
    return int((datetime.fromisoformat(text) - datetime(2000, 1, 1)).total_seconds())
