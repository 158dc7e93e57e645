"""Writes of acts whose SQL is composed once a process: new rows, and columns of the row with a key.

Each value goes through its own field, as in the framework's `save`, and every write goes to the database at once.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeVar

from django.db import DEFAULT_DB_ALIAS, connection, connections, models, transaction
from django.db.models import Field, Model
from django.db.models.query_utils import DeferredAttribute
from django.db.models.signals import post_save, pre_save

Row = TypeVar("Row", bound=Model)


@dataclass(frozen=True, slots=True)
class Column:
    """A field and what is known of it beforehand: `plain` values are written as they are, `is_kept` ones lie under its name."""

    field: "Field[Any, Any]"
    name: str
    plain: type | None
    is_kept: bool


Columns = tuple[Column, ...]
# Fields of just these classes give a value of this kind to a database as it is, and nothing as nothing.
_PLAIN: dict[type, type] = {
    **dict.fromkeys((models.IntegerField, models.BigIntegerField, models.SmallIntegerField), int),
    **dict.fromkeys((models.PositiveIntegerField, models.PositiveBigIntegerField, models.PositiveSmallIntegerField), int),
    **dict.fromkeys((models.CharField, models.TextField), str),
    **dict.fromkeys((models.ForeignKey, models.OneToOneField), int),
    models.BooleanField: bool,
}
# Any SQLite takes that many values in one statement.
_MOST_VALUES = 900
_composed: dict[tuple[Any, ...], str] = {}
_of_model: dict[type[Model], Columns] = {}


def insert(row: Row) -> Row:
    """Write a new row and give it the key that the database drew; as `row.save(force_insert=True)` does."""
    database, model = connections[DEFAULT_DB_ALIAS], type(row)
    columns, returns = _columns(model), database.features.can_return_columns_from_insert
    sql = _once(
        (database.vendor, "insert", model), lambda: _insertion(model, columns, 1) + (_returning(model) if returns else "")
    )
    row._prepare_related_fields_for_save("save")  # type: ignore[attr-defined]
    with transaction.mark_for_rollback_on_error(DEFAULT_DB_ALIAS), database.cursor() as cursor:
        cursor.execute(sql, _values(database, row, columns))
        row.pk = cursor.fetchone()[0] if returns else cursor.lastrowid
    row._state.adding, row._state.db = False, DEFAULT_DB_ALIAS
    return row


def insert_all(rows: Sequence[Model]) -> None:
    """Write new rows of one table with as few statements as may be; they don't learn their keys."""
    if not rows:
        return
    database, model = connections[DEFAULT_DB_ALIAS], type(rows[0])
    columns = _columns(model)
    most = max(_MOST_VALUES // len(columns), 1)
    with transaction.atomic(savepoint=False), database.cursor() as cursor:
        for start in range(0, len(rows), most):
            some = rows[start : start + most]
            sql = _once((database.vendor, "insert all", model, len(some)), partial(_insertion, model, columns, len(some)))
            cursor.execute(sql, [value for row in some for value in _values(database, row, columns)])


def put(row: Model, over: str) -> None:
    """Write a new row, or give the one that has the same value in its unique field `over` all the other values of this one."""
    database, model = connections[DEFAULT_DB_ALIAS], type(row)
    columns = _columns(model)
    sql = _once((database.vendor, "put", model, over), lambda: _insertion_over(model, columns, over))
    with transaction.mark_for_rollback_on_error(DEFAULT_DB_ALIAS), database.cursor() as cursor:
        cursor.execute(sql, _values(database, row, columns))


def change(model: type[Model], key: int, **columns: Any) -> int:
    """Set columns of the row with this key; how many rows there were, 0 or 1."""
    return _update(model, key, columns, "{0} = %s")


def add(model: type[Model], key: int, **amounts: int) -> int:
    """Add to columns of the row with this key, in the database itself; how many rows there were, 0 or 1."""
    return _update(model, key, amounts, "{0} = {0} + %s")


def _update(model: type[Model], key: int, values: dict[str, Any], said: str) -> int:
    database = connections[DEFAULT_DB_ALIAS]
    sql = _once((database.vendor, said, model, *values), lambda: _change_of(model, values, said))
    of = model._meta.get_field
    given = [of(name).get_db_prep_save(value, connection=database) for name, value in values.items()]  # type: ignore[union-attr]
    with transaction.mark_for_rollback_on_error(DEFAULT_DB_ALIAS), database.cursor() as cursor:
        cursor.execute(sql, [*given, key])
        return int(cursor.rowcount)


def _once(what: tuple[Any, ...], compose: Callable[[], str]) -> str:
    found = _composed.get(what)
    if found is None:
        found = _composed[what] = compose()
    return found


def _change_of(model: type[Model], names: Iterable[str], said: str) -> str:
    columns = ", ".join(said.format(_quoted(_field(model, name))) for name in names)
    return f"UPDATE {_table(model)} SET {columns} WHERE {_quoted(_key(model))} = %s"


def _returning(model: type[Model]) -> str:
    return f" RETURNING {_quoted(_key(model))}"


def _insertion(model: type[Model], columns: Columns, count: int) -> str:
    row = f"({', '.join(['%s'] * len(columns))})"
    names = ", ".join(_quoted(column.field) for column in columns)
    return f"INSERT INTO {_table(model)} ({names}) VALUES {', '.join([row] * count)}"


def _insertion_over(model: type[Model], columns: Columns, over: str) -> str:
    unique = _field(model, over)
    others = [_quoted(column.field) for column in columns if column.field is not unique]
    changes = ", ".join(f"{name} = EXCLUDED.{name}" for name in others)
    return f"{_insertion(model, columns, 1)} ON CONFLICT ({_quoted(unique)}) DO UPDATE SET {changes}"


def _values(database: Any, row: Model, columns: Columns) -> list[Any]:
    kept, given = row.__dict__, []
    for column in columns:
        value = kept[column.name] if column.is_kept else column.field.pre_save(row, True)
        plain = column.plain is not None and (value is None or type(value) is column.plain)
        given.append(value if plain else column.field.get_db_prep_save(value, connection=database))
    return given


def _columns(model: type[Model]) -> Columns:
    """The columns that a new row fills. Only tables that are numbered by the database, and rows that nobody listens to."""
    found = _of_model.get(model)
    if found is None:
        if model.save is not Model.save or pre_save.has_listeners(model) or post_save.has_listeners(model):
            raise TypeError(f"{model.__name__} does more than write its row when it is saved; save it.")
        if model._meta.parents or model._meta.auto_field is None or any(one.has_db_default() for one in model._meta.fields):
            raise TypeError(f"The database fills more than the number of a row of {model.__name__}; save it.")
        fields = (one for one in model._meta.local_concrete_fields if not one.generated and one is not _key(model))
        found = tuple(_column(one) for one in fields)
        _of_model[model] = found
    return found


def _column(field: "Field[Any, Any]") -> Column:
    kind = type(field)
    is_kept = kind.pre_save is Field.pre_save and isinstance(getattr(field.model, field.attname), DeferredAttribute)
    return Column(field, field.attname, _PLAIN.get(kind), is_kept)


def _field(model: type[Model], name: str) -> "Field[Any, Any]":
    return model._meta.get_field(name)  # type: ignore[return-value]


def _key(model: type[Model]) -> "Field[Any, Any]":
    return model._meta.pk  # type: ignore[return-value]


def _table(model: type[Model]) -> str:
    return connection.ops.quote_name(model._meta.db_table)  # type: ignore[no-any-return]


def _quoted(field: "Field[Any, Any]") -> str:
    return connection.ops.quote_name(str(field.column))  # type: ignore[no-any-return]
