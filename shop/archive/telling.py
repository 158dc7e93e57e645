"""What is told of a shop that was written, read in or moved: counts, sums of money, and what `verify` says."""

from collections.abc import Iterable, Iterator

from shop.archive.manifest import Table
from shop.money import is_currency, show
from shop.verification import verify

MONEY = (
    ("billing.invoice", "gross_minor", "Billed"),
    ("billing.payment", "amount_minor", "Paid"),
    ("jobs.deposit", "amount_minor", "Deposits"),
    ("jobs.labourentry", "amount_minor", "Labour logged"),
)
THINGS = (
    ("inventory.movement", "count", "Parts in the drawers, by the movements"),
    ("jobs.logentry", "rows", "Entries of the change log"),
)


def money(tables: Iterable[Table], currency: str) -> Iterator[str]:
    """The sums that a person would ask for first."""
    by_model = {one.model: one for one in tables}
    for model, column, words in MONEY:
        if model in by_model and is_currency(currency):
            yield f"  {words}: {show(by_model[model].sums.get(column, 0), currency)}"
    for model, column, words in THINGS:
        if model in by_model:
            table = by_model[model]
            yield f"  {words}: {table.rows if column == 'rows' else table.sums.get(column, 0)}"


def every_table(tables: Iterable[Table]) -> Iterator[str]:
    """A line a table: rows, and each sum; both databases gave the same."""
    for one in sorted(tables, key=lambda table: table.model):
        sums = "".join(f", {column} {total}" for column, total in one.sums.items() if total)
        yield f"  {one.model}: {one.rows} rows{sums}"


def verified() -> Iterator[str]:
    """Each difference that `verify` finds, then how many; the last line ends with the word `differences`."""
    looked, found = 0, 0
    for one in verify():
        looked += one.counted
        found += len(one.differences)
        yield from (f"  {one.name}: {text}" for text in one.differences)
    yield f"verify: {looked} looked at, {found} differences"
