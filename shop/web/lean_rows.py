"""The rows of a django-tables2 table as HTML, each column's way to its cells worked out once a table.

The library works out for every cell anew which field it is, whether that has choices, and which arguments its `render_…` takes,
which takes longer than the cells themselves. The cells are the same: a test holds them to the library's own.
"""

from collections.abc import Callable, Iterable
from typing import Any

from django.core.exceptions import FieldDoesNotExist
from django.db.models import Model
from django.utils.formats import localize
from django.utils.html import conditional_escape, escape
from django.utils.safestring import SafeString
from django_tables2.utils import Accessor, signature

Cell = Callable[[Any], Any]


def rows_html(table: Any, bound_rows: Iterable[Any], columns: Iterable[Any]) -> list[SafeString]:
    """`columns` are the bound columns, in their order. The first cell of a row is its heading."""
    rows = list(bound_rows)
    made = [(*_frame(bound, number == 0), _cell_of(table, bound, rows)) for number, bound in enumerate(columns)]
    return [_row(table, row, made) for row in rows]


def _row(table: Any, row: Any, made: list[tuple[str, str, Cell]]) -> SafeString:
    css = str(row.attrs.get("class", "")) if table.row_attrs else ""
    cells = "".join([f"{opening}{_written(cell(row))}{closing}" for opening, closing, cell in made])
    return SafeString(f'<tr class="{escape(css)}">{cells}</tr>' if css else f"<tr>{cells}</tr>")


def _written(value: Any) -> str:
    if isinstance(value, str):
        return conditional_escape(value)
    return conditional_escape(localize(value))


def _frame(bound: Any, is_heading: bool) -> tuple[str, str]:
    td = bound.column.attrs.get("td") or bound.column.attrs.get("cell") or {}
    css = f' class="{escape(td["class"])}"' if td.get("class") else ""
    if is_heading:
        return f'<th scope="row"{css}>', "</th>"
    return f'<td{css} data-label="{escape(bound.header)}">', "</td>"


def _cell_of(table: Any, bound: Any, rows: list[Any]) -> Cell:
    if bound.link or not rows:
        return lambda row: row.get_cell(bound.name)
    value_of, render, default, empty = (
        _value_of(bound, rows[0].record),
        _render(table, bound),
        bound.default,
        bound.column.empty_values,
    )

    def cell(row: Any) -> Any:
        value = value_of(row.record)
        return default if value in empty else render(value, row)

    return cell


def _value_of(bound: Any, example: Any) -> Callable[[Any], Any]:
    """As the library reads it: a choice in its words, nothing where the row has no such thing."""
    accessor = Accessor(bound.accessor)
    if isinstance(example, Model) and "__" not in accessor and _has_choices(accessor, example):
        name = f"get_{accessor}_display"
        return lambda record: getattr(record, name)()
    if isinstance(example, Model) and "__" not in accessor:
        key = str(accessor)
        return lambda record: _plain(record, key)
    return lambda record: _resolved(accessor, record)


def _has_choices(accessor: Any, example: Any) -> bool:
    try:
        return bool(getattr(accessor.get_field(example), "choices", ())) and hasattr(example, f"get_{accessor}_display")
    except FieldDoesNotExist:
        return False


def _plain(record: Any, name: str) -> Any:
    value = getattr(record, name, None)
    return value() if callable(value) and not getattr(value, "alters_data", False) else value


def _resolved(accessor: Any, record: Any) -> Any:
    penultimate, remainder = accessor.penultimate(record)
    if isinstance(penultimate, Model) and _has_choices(Accessor(remainder), penultimate):
        return getattr(penultimate, f"get_{remainder}_display")()
    return accessor.resolve(record, quiet=True)


def _render(table: Any, bound: Any) -> Callable[[Any, Any], Any]:
    """With the arguments that it asks for, of those that the library offers."""
    names, takes_all = signature(bound.render)
    render = bound.render
    if not takes_all and tuple(names) in (("value",), ("record",), ("record", "value"), ("value", "record")):
        if tuple(names) == ("value",):
            return lambda value, row: render(value=value)
        if tuple(names) == ("record",):
            return lambda value, row: render(record=row.record)
        return lambda value, row: render(record=row.record, value=value)
    return lambda value, row: row._call_render(bound, value)
