"""A list as a file to keep: all of its rows, in the filter and order in force, not the page that is shown.

    table = JobTable(found.qs)
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("jobs", table))

A table of django-tables2 is saved by its columns. What a column shows as HTML it saves as its plain value: `value_<column>` on
the table where the value must be worked out, else what its accessor gives. A table may name `money`: columns in minor units, or
worked out as decimals by `value_…`; it then needs `currency_of(record)`. And `also`: (heading, accessor) of what the page has no
room for. `{% include "_save_as.html" %}` draws the links.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from tempfile import SpooledTemporaryFile
from typing import Any

from django.db.models import Model, QuerySet
from django.http import FileResponse, HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django_tables2.utils import Accessor

from shop.money import amount
from shop.tabular import TYPES, Cell, Sheet

# A file up to this size is answered from memory; a larger one waits on the disk.
IN_MEMORY = 1_000_000
ROWS_AT_ONCE = 500
# Headings with what reads the cell from a row.
Columns = Sequence[tuple[str, Callable[[Any], Any]]]


def wants_file(request: HttpRequest) -> bool:
    return request.GET.get("as") in TYPES


def file_of(request: HttpRequest, sheet: Sheet) -> HttpResponse:
    """`?as=xlsx` gives a workbook, anything else CSV. The whole is written before the answer begins, so none ends half way."""
    ending = "xlsx" if request.GET.get("as") == "xlsx" else "csv"
    spool = SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115  the answer closes it
    sheet.write(spool, ending)
    size = spool.tell() if ending == "csv" else spool.seek(0, 2)
    spool.seek(0)
    kind = TYPES[ending]
    small = size <= IN_MEMORY
    answer: Any = HttpResponse(spool.read(), content_type=kind) if small else FileResponse(spool, content_type=kind)
    answer["Content-Disposition"] = content_disposition_header(True, f"{sheet.name}.{ending}") or "attachment"
    answer["Cache-Control"] = "private, no-store"
    return answer  # type: ignore[no-any-return]


def batches_of(rows: "QuerySet[Any]") -> Iterator[list[Any]]:
    """The rows in their order, some hundred at a time: memory stays bounded, and no cursor holds up who writes meanwhile."""
    keys = list(rows.values_list("pk", flat=True))
    for start in range(0, len(keys), ROWS_AT_ONCE):
        some = keys[start : start + ROWS_AT_ONCE]
        found = {one.pk: one for one in rows.order_by().filter(pk__in=some)}
        yield [found[key] for key in some if key in found]


def in_batches(rows: "QuerySet[Any]") -> Iterator[Any]:
    return (one for some in batches_of(rows) for one in some)


def sheet_of(name: str, columns: Columns, rows: Iterable[Any]) -> Sheet:
    """A list that is no table of django-tables2, by its columns."""
    readers = [reader for _, reader in columns]
    cells = ([cell_of(reader(row)) for reader in readers] for row in rows)
    return Sheet(name, tuple(heading for heading, _ in columns), cells)


def cell_of(value: Any) -> Cell:
    """Moments in the shop's time zone with its offset, to the second; yes and no in words; other objects as their text."""
    if isinstance(value, datetime):
        return timezone.localtime(value).replace(microsecond=0)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None or isinstance(value, (str, int, Decimal, date)):
        return value
    return Decimal(repr(value)) if isinstance(value, float) else str(value)


def table_sheet(name: str, table: Any) -> Sheet:
    """A configured table with all its rows; `name` is the file's."""
    columns = [column for column in table.columns if not getattr(column.column, "only_shown", False)]
    also = [(heading, Accessor(path)) for heading, path in getattr(table, "also", ())]
    money = frozenset(getattr(table, "money", ()))
    headings = [*(str(column.header) for column in columns), *(heading for heading, _ in also)]
    if money:
        headings.append("Currency")
    return Sheet(name, tuple(headings), _rows(table, columns, also, money))


def _rows(table: Any, columns: list[Any], also: list[tuple[str, Accessor]], money: frozenset[str]) -> Iterator[list[Cell]]:
    data = table.data.data
    for record in in_batches(data) if isinstance(data, QuerySet) else data:
        code = table.currency_of(record) if money else ""
        cells = [_cell(table, column, record, code if column.name in money else "") for column in columns]
        cells += [cell_of(path.resolve(record, quiet=True)) for _, path in also]
        yield [*cells, code] if money else cells


def _cell(table: Any, column: Any, record: Any, currency: str) -> Cell:
    plain = getattr(table, f"value_{column.name}", None)
    value = plain(record) if plain else _value(column, record)
    return amount(value, currency) if currency and isinstance(value, int) else cell_of(value)


def _value(column: Any, record: Any) -> Any:
    """A choice is saved in its words."""
    words = getattr(record, f"get_{column.name}_display", None) if isinstance(record, Model) else None
    return words() if words else column.accessor.resolve(record, quiet=True)
