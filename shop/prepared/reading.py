"""Questions that acts ask over and over: the framework writes their SQL once a process, from an ordinary query.

To build a query and to write it as SQL takes several times as long as a database takes to answer it by key; and so does finding
out, for every answer, how its columns become a row's fields. Nothing of an answer is kept: each asking goes to the database, and
only the words of the question and the way to read its answer are the same.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from inspect import signature
from typing import Any, Generic, TypeVar

from django.db import DEFAULT_DB_ALIAS, connection, connections
from django.db.models import Model, QuerySet
from django.db.models.base import ModelState
from django.db.models.fields.files import FileDescriptor
from django.db.models.query import ModelIterable
from django.db.models.query_utils import DeferredAttribute
from django.db.models.signals import post_init, pre_init

Row = TypeVar("Row", bound=Model)
# They stand for the keys while the SQL is written; no row of a shop has such a key, and they fit its column.
_MARKS = tuple(9_100_000_000_000_000_000 + at for at in range(4))


@dataclass(frozen=True, slots=True)
class _Written(Generic[Row]):
    """A question in the words of one kind of database. `names` are the fields that its columns fill, the annotated ones last."""

    sql: str
    params: tuple[Any, ...]
    model: type[Row]
    names: tuple[str, ...]
    own: int
    convert: Callable[[Sequence[Any]], Any]
    plainly: bool

    def asked(self, keys: tuple[int, ...]) -> list[Any]:
        by_mark = dict(zip(_MARKS, keys, strict=False))
        return [by_mark.get(one, one) if type(one) is int else one for one in self.params]

    def rows(self, answers: Sequence[Any]) -> Iterator[Row]:
        for answer in self.convert(answers):
            yield self._plain(answer) if self.plainly else self._by_framework(answer)

    def _plain(self, answer: Sequence[Any]) -> Row:
        """As the framework makes it, for models whose making nobody listens to and whose fields keep what they are given."""
        row = self.model.__new__(self.model)
        state = ModelState()
        state.adding, state.db = False, DEFAULT_DB_ALIAS
        row.__dict__["_state"] = state
        row.__dict__.update(zip(self.names, answer, strict=True))
        return row

    def _by_framework(self, answer: Sequence[Any]) -> Row:
        row = self.model.from_db(DEFAULT_DB_ALIAS, self.names[: self.own], answer[: self.own])
        for name, value in zip(self.names[self.own :], answer[self.own :], strict=True):
            setattr(row, name, value)
        return row


class Prepared(Generic[Row]):
    """A question about rows of one table by whole-number keys: `Prepared(lambda job: Entry.objects.filter(job=job))`.

    The query may filter, order, lock, cut off, and annotate columns of other tables; it may not `select_related`, as rows are
    made from one table's columns.
    """

    def __init__(self, question: "Callable[..., QuerySet[Row, Any]]") -> None:
        self._question = question
        self._keys = len(signature(question).parameters)
        self._written: dict[str, _Written[Row]] = {}

    def all(self, *keys: int) -> list[Row]:
        written = self._in_words(keys)
        return list(written.rows(_answers(written, keys)))

    def first(self, *keys: int) -> Row | None:
        return next(iter(self.all(*keys)), None)

    def get(self, *keys: int) -> Row:
        """The one row; raises the model's DoesNotExist."""
        found = self.first(*keys)
        if found is None:
            model: Any = self._in_words(keys).model
            raise model.DoesNotExist(f"{model.__name__} {', '.join(map(str, keys))} is not there.")
        return found

    def tuples(self, *keys: int) -> Sequence[tuple[Any, ...]]:
        """The answer as it comes, for questions made with `values_list`: numbers and words only, truth as 0 and 1 on SQLite."""
        return _answers(self._in_words(keys), keys)

    def _in_words(self, keys: tuple[int, ...]) -> _Written[Row]:
        if len(keys) != self._keys:
            raise TypeError(f"This question takes {self._keys} keys, not {len(keys)}.")
        written = self._written.get(connections[DEFAULT_DB_ALIAS].vendor)
        if written is None:
            written = self._written[connection.vendor] = _write(self._question(*_MARKS[: self._keys]))
        return written


def by_key(model: type[Row], *, lock: bool = False) -> Prepared[Row]:
    """The row with a key; with `lock`, nobody else changes it until the transaction ends."""
    rows: QuerySet[Row, Any] = model._base_manager.order_by()
    return Prepared(lambda key: (rows.select_for_update() if lock else rows).filter(pk=key))


def _answers(written: _Written[Any], keys: tuple[int, ...]) -> Sequence[tuple[Any, ...]]:
    with connections[DEFAULT_DB_ALIAS].cursor() as cursor:
        cursor.execute(written.sql, written.asked(keys))
        return cursor.fetchall()  # type: ignore[no-any-return]


def _write(query: "QuerySet[Row, Any]") -> _Written[Row]:
    if query.query.select_related:
        raise TypeError("A prepared question is about rows of one table; ask for the others by their keys.")
    compiler: Any = query.query.get_compiler(connection=connection)
    sql, params = compiler.as_sql()
    own = [column.target.attname for column, _, _ in compiler.select[: _own_columns(query, compiler)]]
    names = (*own, *compiler.annotation_col_map)
    converters = compiler.get_converters([column for column, _, _ in compiler.select])
    convert = (lambda answers: compiler.apply_converters(answers, converters)) if converters else (lambda answers: answers)
    plainly = _keeps_what_it_is_given(query.model, own)
    return _Written(sql, tuple(params), query.model, names, len(own), convert, plainly)


def _own_columns(query: "QuerySet[Any, Any]", compiler: Any) -> int:
    """How many of the answer's columns are fields of the row; none where only values were asked for."""
    makes_rows = query._iterable_class is ModelIterable  # type: ignore[attr-defined]
    return len(compiler.klass_info["select_fields"]) if makes_rows else 0


def _keeps_what_it_is_given(model: type[Model], names: Sequence[str]) -> bool:
    """Whether a row is no more than its fields' values: nobody listens when one is made, and no field alters its value."""
    ordinary = model.__init__ is Model.__init__ and model.from_db.__func__ is Model.from_db.__func__  # type: ignore[attr-defined]
    heard = pre_init.has_listeners(model) or post_init.has_listeners(model)
    kept = (DeferredAttribute, FileDescriptor)
    return ordinary and not heard and all(isinstance(getattr(model, name), kept) for name in names)
