"""The main figures of a shop, for who compares a restored one with what it was: rows, and sums of money in the smallest coin."""

from collections.abc import Iterator
from dataclasses import dataclass

from shop.backup.copies import Sums
from shop.money import show

# Table, words, and the column whose sum is told.
MAIN = (
    ("jobs_job", "jobs", ""),
    ("jobs_logentry", "entries of change logs", ""),
    ("inventory_movement", "movements of stock, parts in all", "count"),
    ("jobs_labourentry", "entries of labour, minutes in all", "minutes"),
    ("shop_customer", "customers", ""),
    ("billing_invoice", "invoices and credit notes", "gross_minor"),
    ("billing_payment", "payments", "amount_minor"),
)


@dataclass(frozen=True, slots=True)
class Figure:
    words: str
    rows: int
    sum: int | None
    is_money: bool = False

    def told(self, currency: str) -> str:
        if self.sum is None:
            return f"{self.rows:,}"
        if self.is_money and currency:
            return f"{self.rows:,}, {show(self.sum, currency)}"
        return f"{self.rows:,}, {self.sum:,}"


def figures_of(sums: Sums) -> Iterator[Figure]:
    """Those that this form of the tables has."""
    for table, words, column in MAIN:
        if found := sums.get(table):
            told = found.get(column) if column else None
            yield Figure(words, found["rows"], told, column.endswith("_minor"))
