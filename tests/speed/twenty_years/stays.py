"""When which pattern is told, and under which numbers."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from random import Random
from typing import Any

import numpy as np

from shop.models import NumberSeries
from tests.speed.twenty_years.days import TEXTS, intake_days, number_of, year_of
from tests.speed.twenty_years.patterns import Pattern

A_DAY = 86_400
SHARES = {"handed_over": 0.87, "returned": 0.12, "sold": 0.01}
SMALLER_OFTENER = 2.2


@dataclass(slots=True)
class Stay:
    """One job that will be written."""

    pattern: Pattern
    begins: int
    sister: int
    number: str = ""
    lots: list[int] = field(default_factory=list)
    drawers: list[int] = field(default_factory=list)
    moves: Sequence[int] = ()
    invoices: Sequence[int] = ()
    given: dict[str, list[Any]] = field(default_factory=dict)

    @property
    def shift(self) -> int:
        return self.begins - self.pattern.begins

    @property
    def ends(self) -> int:
        return self.begins + self.pattern.stays


def plan_stays(patterns: Sequence[Pattern], jobs: int, opened: int, sisters: int, today: date, seed: int) -> list[Stay]:
    """By day: closed ones over the years, each ended before today, and those that are open, told at most a week earlier."""
    rng, numbers = Random(seed), np.random.default_rng(seed)
    closed, standing = [one for one in patterns if not one.is_open], [one for one in patterns if one.is_open]
    opened = opened if standing else 0
    weights = _weights(closed)
    latest = number_of(today)
    days = intake_days(max(jobs - opened, 0), today, numbers).tolist()
    found = []
    for day in days:
        one = rng.choices(closed, weights)[0]
        # What came in lately and is closed already is moved back by the length of its stay.
        found.append(
            Stay(one, day if day + one.stays < latest else latest - one.stays - rng.randrange(1, 9), rng.randrange(sisters))
        )
    for at in range(opened):
        one = standing[at % len(standing)]
        found.append(Stay(one, one.begins - rng.randrange(0, 7), rng.randrange(sisters)))
    found.sort(key=lambda stay: stay.begins)
    return found


def _weights(patterns: Sequence[Pattern]) -> list[float]:
    """Most sets go home repaired, hardly one is never fetched. Smaller logs come oftener, for fifty entries a job."""
    by_end: dict[str, list[float]] = {}
    for one in patterns:
        by_end.setdefault(one.stage, []).append((60 / max(one.log_size, 20)) ** SMALLER_OFTENER)
    return [
        SHARES.get(one.stage, 0.0) * (60 / max(one.log_size, 20)) ** SMALLER_OFTENER / sum(by_end[one.stage]) for one in patterns
    ]


class Numbers:
    """Numbers of papers without a gap, after those that were given already."""

    def __init__(self) -> None:
        self.last = Counter({(row.series, row.year): row.last for row in NumberSeries.objects.all()})

    def give(self, series: str, day: int) -> tuple[str, int, int]:
        """The number, its year and its place in it."""
        year = year_of(day)
        self.last[series, year] += 1
        place = self.last[series, year]
        return f"{series}-{year}-{place:04d}", year, place

    def keep(self) -> None:
        for (series, year), last in self.last.items():
            NumberSeries.objects.update_or_create(series=series, year=year, defaults={"last": last})


def number_stays(stays: Sequence[Stay], numbers: Numbers, first_invoice: int) -> int:
    """Numbers of jobs by the day they came in, of bills by the moment they were written; how many bills."""
    bills: list[tuple[int, int, int]] = []
    for at, stay in enumerate(stays):
        stay.number = numbers.give("J", stay.begins)[0]
        count = len(stay.pattern.invoices)
        stay.invoices = [0] * count
        stay.given = {name: [None] * count for name in ("number", "year", "sequence")}
        bills += [(second + stay.shift * A_DAY, at, place) for place, (_, _, second) in enumerate(stay.pattern.invoices)]
    for key, (second, at, place) in enumerate(sorted(bills), first_invoice):
        stay = stays[at]
        series = stay.pattern.invoices[place][1]
        stay.invoices[place] = key  # type: ignore[index]
        for name, value in zip(("number", "year", "sequence"), numbers.give(series, second // A_DAY), strict=True):
            stay.given[name][place] = value
    return len(bills)


def day_texts(stay: Stay) -> list[str]:
    return [TEXTS[day + stay.shift] for day in stay.pattern.day_numbers]
