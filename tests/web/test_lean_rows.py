"""The lean way to a table's cells gives what the table library (django-tables2) gives for each of them."""

from typing import Any

import django_tables2 as tables
import pytest
from django.template import engines
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString

from inventory.models import Part
from inventory.pricing import price_terms
from inventory.queries.lots import ledger, listed_lots
from inventory.queries.parts import with_lots
from inventory.tables import LotTable, MovementTable, PartTable
from jobs.models import Job
from jobs.tables import JobTable
from shop.models import Staff
from shop.web.lean_rows import rows_html
from tests.builders import a_job, a_lot, a_part, a_profile

CELL = engines["django"].from_string("{{ cell }}")


def by_the_library(table: Any) -> list[list[str]]:
    return [[CELL.render({"cell": row.get_cell(column.name)}) for column in table.columns] for row in table.rows]


def leanly(table: Any) -> list[list[str]]:
    rows = rows_html(table, table.rows, list(table.columns))
    return [[_inside(cell) for cell in row.replace("</th>", "</td>").split("</td>")[:-1]] for row in rows]


def _inside(cell: str) -> str:
    """Without the row's and the cell's own tags."""
    return cell.removeprefix("<tr>").split(">", 1)[1]


class Odd:
    """A row that isn't of a table: with a method, without one of the names, with signs that must be escaped."""

    name = 'A <b>"B"</b> & C'
    nothing = None
    inner: Any = None

    def asked(self) -> str:
        return "said & done"


class OddTable(tables.Table):
    name = tables.Column()
    asked = tables.Column()
    nothing = tables.Column(default="–")
    missing = tables.Column(empty_values=())
    deep = tables.Column(accessor="inner__name", default="none")
    whole = tables.Column(accessor="name", empty_values=())
    number = tables.Column(empty_values=())
    both = tables.Column(accessor="name")
    linked = tables.LinkColumn("today", text="Go", accessor="name")

    def render_whole(self, record: Odd, value: str, bound_column: Any) -> str:
        return f"{bound_column.name}: {value}"

    def render_number(self) -> int:
        return 1234567

    def render_both(self, value: str, record: Odd) -> SafeString:
        return SafeString(f"<i>{conditional_escape(value)}</i>")


def test_odd_rows_are_written_as_the_library_writes_them() -> None:
    table = OddTable([Odd(), {"name": "a dict", "asked": 0}])
    assert leanly(table)[0] == by_the_library(OddTable([Odd()]))[0]
    assert rows_html(OddTable([]), [], list(table.columns)) == []


@pytest.mark.django_db
def test_the_shops_tables_are_written_as_the_library_writes_them(owner: Staff) -> None:
    profile = a_profile()
    a_lot(a_part("0.047 µF 630 V", description="box & <b>bag</b>"))
    a_job()
    made: list[Any] = [
        PartTable(with_lots(Part.objects.with_stock()), prices=price_terms()),
        LotTable(listed_lots(), profile=profile),
        MovementTable(ledger()),
        JobTable(Job.objects.with_heads()),
    ]
    for table in made:
        assert leanly(table) == by_the_library(table)
