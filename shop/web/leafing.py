"""Leafing through a list: one page of its rows, and the ways to the next, the one before, the beginning and the end.

    page = leaf_of(request, rows)             # `_pager.html` draws it
    leaf_through(request, table)              # the same for a table, with its order; `_table.html` draws it

What an address asks for stands in one word, `page`: `7` (the seventh, counted off and only within the first 10,000 rows), `last`,
`after-MARK` and `before-MARK`, where the mark is a row's place in the order (`shop.web.row_order`). What can't be read is the
first page, what lies beyond the end is the last.

Of a long list whose rows are joined with others or worked out, `shown` are the rows as the page shows them, without any filter:
which rows are on the page is found by `rows` alone, and only these are joined, in the same question. A planner that has counted
its tables may otherwise begin at the smallest of them and sort all rows. `to_count` are the same rows, where another way counts
them sooner.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest
from django_tables2.rows import BoundRows

from shop.web.row_order import (
    Key,
    Rows,
    count_before,
    counted,
    keys_of,
    mark_of,
    rows_behind,
    rows_between,
    values_at,
    values_of,
    with_keys,
)

ROWS_A_PAGE = 50
# So many rows are counted; of a longer list it is said that there are more. Counting three million takes longer than the page.
MOST_COUNTED = 10_000
LAST, AFTER, BEFORE = "last", "after-", "before-"


@dataclass(slots=True)
class Leaf:
    """One page. `start` is the number of its first row from 1 on, 0 where it lies too deep to be counted.

    `total` is how many rows there are, `is_more` that there are more than that. The four ways are words for the address, empty
    where there is nothing to go to.
    """

    object_list: Any
    start: int
    total: int
    is_more: bool = False
    is_end: bool = False
    first: str = ""
    before: str = ""
    after: str = ""
    last: str = ""

    def __iter__(self) -> Iterator[Any]:
        return iter(self.object_list)

    def __len__(self) -> int:
        return len(self.object_list)

    def __getitem__(self, index: int) -> Any:
        return self.object_list[index]

    @property
    def is_one_of_many(self) -> bool:
        return bool(self.before or self.after)

    @property
    def words(self) -> str:
        """`Rows 51–100 of 1,234`."""
        count = len(self.object_list)
        total = f"more than {self.total:,}" if self.is_more else f"{self.total:,}"
        if self.start:
            return f"Rows {self.start:,}–{self.start + count - 1:,} of {total}"
        return f"The last {count:,} of {total} rows" if self.is_end else f"{count:,} of {total} rows"


def leaf_of(
    request: HttpRequest,
    rows: Rows | Sequence[Any],
    rows_a_page: int = ROWS_A_PAGE,
    field: str = "page",
    *,
    shown: Rows | None = None,
    to_count: Rows | None = None,
) -> Leaf:
    asked = request.GET.get(field, "")
    if isinstance(rows, QuerySet):
        keys = keys_of(rows)
        if keys is not None:
            return _Walk(rows, keys, rows_a_page, shown, to_count).leaf(asked)
    return _counted_off(rows, asked, rows_a_page)


def leaf_through(request: HttpRequest, table: Any, *, shown: Rows | None = None, to_count: Rows | None = None) -> None:
    """Sets a table's order as the address asks, and the page of it that is shown."""
    table.request = request
    order = request.GET.getlist(table.prefixed_order_by_field)
    if order:
        table.order_by = order
    field = table.prefixed_page_field
    show_leaf(table, leaf_of(request, table.data.data, field=field, shown=shown, to_count=to_count))


def show_leaf(table: Any, leaf: Leaf) -> None:
    """Of a table its rows on this page, which may hold no others."""
    # The library counts a table's rows where a template asks whether there are any: of the page, not of the whole list.
    table.rows = leaf.object_list = BoundRows(data=list(leaf.object_list), table=table)
    table.page = leaf


@dataclass(slots=True)
class _Walk:
    rows: Rows
    keys: list[Key]
    size: int
    shown: Rows | None = None
    to_count: Rows | None = None

    def leaf(self, asked: str) -> Leaf:
        total = counted(self.rows if self.to_count is None else self.to_count, MOST_COUNTED + 1)
        way, _, mark = asked.partition("-")
        values = values_of(mark, self.keys) if mark else None
        leaf = None
        if values is not None and way in ("after", "before"):
            leaf = self._after(values) if way == "after" else self._before(values)
        elif asked == LAST:
            leaf = self._end()
        leaf = leaf or self._nth(asked, total)
        leaf.total, leaf.is_more = min(total, MOST_COUNTED), total > MOST_COUNTED
        if leaf.is_end and not leaf.is_more:
            leaf.start = total - len(leaf) + 1
        return leaf

    def _after(self, values: list[Any]) -> Leaf:
        found = self._behind(self.keys, values)
        return self._made(found[: self.size], has_before=True, has_after=len(found) > self.size) if found else self._end()

    def _before(self, values: list[Any]) -> Leaf | None:
        found = self._behind(self._backwards(), values)
        if not found:
            return None
        return self._made(found[: self.size][::-1], has_before=len(found) > self.size, has_after=True)

    def _end(self) -> Leaf:
        found = self._cut(self._backwards(), 0, self.size + 1)
        leaf = self._made(found[: self.size][::-1], has_before=len(found) > self.size, has_after=False, start=0)
        leaf.is_end = True
        return leaf

    def _nth(self, asked: str, total: int) -> Leaf:
        pages = max(1, -(-min(total, MOST_COUNTED) // self.size))
        number = min(int(asked), pages) if asked.isascii() and asked.isdecimal() and len(asked) < 12 and int(asked) else 1
        skipped = (number - 1) * self.size
        found = self._cut(self.keys, skipped, skipped + self.size + 1)
        return self._made(found[: self.size], has_before=skipped > 0, has_after=len(found) > self.size, start=skipped + 1)

    def _behind(self, keys: list[Key], values: list[Any]) -> list[Any]:
        return rows_behind(with_keys(self.rows, keys), keys, values, self.size + 1, self._shown_by(keys))

    def _cut(self, keys: list[Key], start: int, stop: int) -> list[Any]:
        return rows_between(with_keys(self.rows, keys), start, stop, self._shown_by(keys))

    def _shown_by(self, keys: list[Key]) -> Rows | None:
        return None if self.shown is None else with_keys(self.shown, keys)

    def _backwards(self) -> list[Key]:
        return [key.backwards() for key in self.keys]

    def _made(self, rows: list[Any], *, has_before: bool, has_after: bool, start: int | None = None) -> Leaf:
        if start is None:
            start = self._number_of(rows[0])
        leaf = Leaf(rows, start, 0)
        if has_before and rows:
            leaf.first, leaf.before = "1", BEFORE + mark_of(rows[0], self.keys)
        if has_after and rows:
            leaf.last, leaf.after = LAST, AFTER + mark_of(rows[-1], self.keys)
        return leaf

    def _number_of(self, row: Any) -> int:
        before = count_before(self.rows, self.keys, values_at(row, self.keys), MOST_COUNTED)
        return before + 1 if before < MOST_COUNTED else 0


def _counted_off(rows: Any, asked: str, size: int) -> Leaf:
    """A list that is held as a whole anyway, or one without an order to walk by."""
    total = rows.count() if isinstance(rows, QuerySet) else len(rows)
    pages = max(1, -(-total // size))
    number = min(int(asked), pages) if asked.isascii() and asked.isdecimal() and len(asked) < 12 and int(asked) else 1
    number = pages if asked == LAST else number
    skipped = (number - 1) * size
    leaf = Leaf(list(rows[skipped : skipped + size]), skipped + 1, total, is_end=number == pages)
    if number > 1:
        leaf.first, leaf.before = "1", str(number - 1)
    if number < pages:
        leaf.after, leaf.last = str(number + 1), LAST
    return leaf
