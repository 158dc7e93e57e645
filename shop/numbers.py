"""Numbers of papers: one after another without a gap, because the counter moves in the same transaction as the paper."""

from dataclasses import dataclass
from functools import cache

from django.db import connection

from shop.models import NumberSeries
from shop.prepared import Prepared, change


@dataclass(frozen=True, slots=True)
class Number:
    series: str
    year: int
    sequence: int

    def __str__(self) -> str:
        return f"{self.series}-{self.year}-{self.sequence:04d}"


@cache
def _counter(series: str, year: int) -> Prepared[NumberSeries]:
    return Prepared(lambda: NumberSeries.objects.select_for_update().filter(series=series, year=year))


def _first_of_its_year(series: str, year: int) -> NumberSeries:
    return NumberSeries.objects.select_for_update().get_or_create(series=series, year=year)[0]


def next_number(series: str, year: int) -> Number:
    """The next number of a series. Call inside the transaction that writes the paper; a rollback gives the number back."""
    if not connection.in_atomic_block:
        raise RuntimeError("A number is only given inside the transaction that uses it.")
    counter = _counter(series, year).first() or _first_of_its_year(series, year)
    counter.last += 1
    change(NumberSeries, counter.pk, last=counter.last)
    return Number(series, year, counter.last)
