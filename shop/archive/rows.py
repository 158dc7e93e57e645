"""One row as one line of JSON, and back. The same value makes the same text, whichever database it came from.

Times are UTC with microseconds, days ISO 8601, sums whole numbers of the smallest coin, keys sorted, text UTF-8.
"""

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import models

from shop.archive.refusing import Unfit

ROWS_AT_ONCE = 2000
SUMMED = ("_minor", "_milli", "count", "on_hand")
# From here on PostgreSQL's jsonb gives a float back as a whole number.
WHOLE_FROM = 1e16
_WHOLE = (models.IntegerField, models.AutoField, models.ForeignKey)


def _time(value: datetime) -> str:
    return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ") if value.year >= 1000 else _early(value)


def _early(value: datetime) -> str:
    # strftime writes years before 1000 without their zeros on some systems.
    return value.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def _float(value: float) -> float:
    return value + 0.0  # a minus zero is a zero


def _tree(value: Any) -> Any:
    """JSON as both databases give it back: jsonb keeps numbers as decimals, without a minus zero."""
    if isinstance(value, dict):
        return {key: _tree(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_tree(one) for one in value]
    if isinstance(value, float):
        return int(Decimal(repr(value))) if abs(value) >= WHOLE_FROM else _float(value)
    return value


def _as_is(value: Any) -> Any:
    return value


def _read_time(text: str) -> datetime:
    if not text.endswith("Z"):
        raise ValueError
    return datetime.fromisoformat(text[:-1]).replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Kind:
    """How values of one kind of column are written and read. `of`: the types that its JSON may have."""

    words: str
    of: tuple[type, ...]
    write: Callable[[Any], Any] = _as_is
    read: Callable[[Any], Any] = _as_is


TEXT = Kind("text", (str,))
WHOLE = Kind("whole number", (int,))
# The first that fits counts: a FileField is no CharField, a DateTimeField is a DateField.
KINDS: tuple[tuple[type[Any], Kind], ...] = (
    (models.DateTimeField, Kind("time, UTC", (str,), _time, _read_time)),
    (models.DateField, Kind("day", (str,), date.isoformat, date.fromisoformat)),
    (models.BooleanField, Kind("true or false", (bool,))),
    (models.FloatField, Kind("number", (int, float), _float, float)),
    (models.UUIDField, Kind("UUID", (str,), str, UUID)),
    (models.JSONField, Kind("JSON", (dict, list, str, int, float, bool), _tree)),
    (models.FileField, Kind("name of a file, under files/", (str,), str)),
    (models.GenericIPAddressField, TEXT),
    (models.CharField, TEXT),
    (models.TextField, TEXT),
    (models.IntegerField, WHOLE),
)


def kind_of(field: Any) -> Kind:
    """A reference is written as the key of what it refers to. Raises TypeError for a kind of column nobody thought of yet."""
    while field.is_relation:
        field = field.target_field
    for cls, kind in KINDS:
        if isinstance(field, cls):
            return kind
    raise TypeError(f"{field} has no way into an archive yet: give its class a row in KINDS of shop/archive/rows.py")


@dataclass(frozen=True, slots=True)
class Column:
    name: str
    field: Any
    kind: Kind

    @property
    def is_summed(self) -> bool:
        return self.kind is WHOLE and self.name.endswith(SUMMED)


def columns_of(model: type[models.Model]) -> tuple[Column, ...]:
    found = (Column(str(one.column), one, kind_of(one)) for one in model._meta.concrete_fields)
    return tuple(sorted(found, key=lambda one: one.name))


def lines(model: type[models.Model], alias: str, sums: dict[str, int]) -> Iterator[bytes]:
    """Each row as a line, by primary key. `sums` is filled meanwhile: by column, of money and of things."""
    columns = columns_of(model)
    summed = [(at, one.name) for at, one in enumerate(columns) if one.is_summed]
    sums.update(dict.fromkeys((name for _, name in summed), 0))
    rows = model._base_manager.using(alias).order_by("pk").values_list(*(one.field.attname for one in columns))
    for row in rows.iterator(ROWS_AT_ONCE):
        for at, name in summed:
            sums[name] += row[at] or 0
        yield line_of(columns, row)


def line_of(columns: Iterable[Column], row: Iterable[Any]) -> bytes:
    said = {one.name: None if value is None else one.kind.write(value) for one, value in zip(columns, row, strict=True)}
    return json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False).encode() + b"\n"


def row_of(model: type[models.Model], columns: tuple[Column, ...], line: bytes) -> list[Any]:
    """The values of a line in the order of `columns`. Raises Unfit with what is wrong with which column."""
    try:
        said = json.loads(line)
    except ValueError as error:
        raise Unfit(f"A line of {model._meta.label_lower} is no JSON.") from error
    if not isinstance(said, dict) or said.keys() != {one.name for one in columns}:
        raise Unfit(f"A line of {model._meta.label_lower} hasn't got the columns of its table.")
    return [_value(model, one, said[one.name], said) for one in columns]


def _value(model: type[models.Model], column: Column, value: Any, said: dict[str, Any]) -> Any:
    if value is None:
        if column.field.null:
            return None
        raise _unfit(model, column, said, "is empty")
    if not isinstance(value, column.kind.of) or (isinstance(value, bool) and bool not in column.kind.of):
        raise _unfit(model, column, said, f"is no {column.kind.words}")
    if isinstance(value, str):
        _look_at_text(model, column, value, said)
    try:
        return column.kind.read(value)
    except (ValueError, OverflowError) as error:
        raise _unfit(model, column, said, f"is no {column.kind.words}") from error


def _look_at_text(model: type[models.Model], column: Column, value: str, said: dict[str, Any]) -> None:
    """What one database keeps and the other refuses is said by name, rather than by the other's error."""
    longest = getattr(column.field, "max_length", None)
    if longest is not None and column.kind is TEXT and len(value) > longest:
        raise _unfit(model, column, said, f"has {len(value)} letters where {longest} are the most")
    if "\0" in value:
        raise _unfit(model, column, said, "holds a zero byte, which not every database keeps")


def _unfit(model: type[models.Model], column: Column, said: dict[str, Any], why: str) -> Unfit:
    key = model._meta.pk.column if model._meta.pk else ""
    return Unfit(f"Table {model._meta.label_lower}, row {said.get(str(key))}: {column.name} {why}.")
