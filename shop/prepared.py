"""Questions that acts ask over and over: the framework writes their SQL once a process, from an ordinary query.

To build a query and to write it as SQL takes several times as long as a database takes to answer it by key. Nothing of an answer
is kept: each asking goes to the database, and only the words of the question are the same.
"""

from collections.abc import Callable, Sequence
from inspect import signature
from typing import Any, Generic, TypeVar

from django.db import connection
from django.db.models import Model, QuerySet

Row = TypeVar("Row", bound=Model)
# They stand for the keys while the SQL is written; no row of a shop has such a key, and they fit its column.
_MARKS = tuple(9_100_000_000_000_000_000 + at for at in range(4))


class Prepared(Generic[Row]):
    """A question about rows of one table by whole-number keys: `Prepared(lambda job: Entry.objects.filter(job=job))`.

    The query may filter, order, lock, cut off, and annotate columns of other tables; it may not `select_related`, as rows are
    made from the answer's columns by their names.
    """

    def __init__(self, question: "Callable[..., QuerySet[Row, Any]]") -> None:
        self._question = question
        self._marks = _MARKS[: len(signature(question).parameters)]
        self._written: dict[str, tuple[str, tuple[Any, ...], type[Row]]] = {}

    def all(self, *keys: int) -> list[Row]:
        sql, params, model = self._asked(keys)
        return list(model._base_manager.raw(sql, params))

    def first(self, *keys: int) -> Row | None:
        return next(iter(self.all(*keys)), None)

    def get(self, *keys: int) -> Row:
        """The one row; raises the model's DoesNotExist."""
        found = self.first(*keys)
        if found is None:
            model: Any = self._asked(keys)[2]
            raise model.DoesNotExist(f"{model.__name__} {', '.join(map(str, keys))} is not there.")
        return found

    def tuples(self, *keys: int) -> Sequence[tuple[Any, ...]]:
        """The answer as it comes, for questions made with `values_list`: numbers and words only, truth as 0 and 1 on SQLite."""
        sql, params, _ = self._asked(keys)
        with connection.cursor() as cursor:
            cursor.execute(sql, params)
            return cursor.fetchall()  # type: ignore[no-any-return]

    def _asked(self, keys: tuple[int, ...]) -> tuple[str, list[Any], type[Row]]:
        if len(keys) != len(self._marks):
            raise TypeError(f"This question takes {len(self._marks)} keys, not {len(keys)}.")
        written = self._written.get(connection.vendor)
        if written is None:
            written = self._written[connection.vendor] = self._write()
        sql, params, model = written
        by_mark = dict(zip(self._marks, keys, strict=True))
        return sql, [by_mark.get(one, one) if type(one) is int else one for one in params], model

    def _write(self) -> tuple[str, tuple[Any, ...], type[Row]]:
        query = self._question(*self._marks)
        if query.query.select_related:
            raise TypeError("A prepared question is about rows of one table; ask for the others by their keys.")
        sql, params = query.query.sql_with_params()
        return sql, tuple(params), query.model
