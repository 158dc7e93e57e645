"""Numbers of papers: one after another without a gap, because the counter moves in the same transaction as the paper."""

from dataclasses import dataclass

from django.db import connection

from shop.models import NumberSeries


@dataclass(frozen=True, slots=True)
class Number:
    series: str
    year: int
    sequence: int

    def __str__(self) -> str:
        return f"{self.series}-{self.year}-{self.sequence:04d}"


def next_number(series: str, year: int) -> Number:
    """The next number of a series. Call inside the transaction that writes the paper; a rollback gives the number back."""
    if not connection.in_atomic_block:
        raise RuntimeError("A number is only given inside the transaction that uses it.")
    counter, _ = NumberSeries.objects.select_for_update().get_or_create(series=series, year=year)
    counter.last += 1
    NumberSeries.objects.filter(pk=counter.pk).update(last=counter.last)
    return Number(series, year, counter.last)
