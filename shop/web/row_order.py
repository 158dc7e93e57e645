"""The order of a list as its database sorts it, and what stands behind a row in that order.

    keys = keys_of(rows)                      # the columns sorted by, the primary key always last; None where no key can be told
    rows = with_keys(rows, keys)
    mark = mark_of(row, keys)                 # goes into an address
    rows_behind(rows, keys, values_of(mark, keys), 51)

A list is walked from row to row, never by counting rows off: the last page costs what the first does, and what is added or
removed meanwhile neither repeats a row nor leaves one out. NULLs stand where the database puts them (SQLite: below all values,
PostgreSQL: above them; standard SQL leaves it open), so that an index in the column's own order serves the sort.
"""

import json
import math
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.core.exceptions import FieldDoesNotExist, ValidationError
from django.db import connections
from django.db.models import BooleanField, Exists, F, Field, Func, Model, Q, QuerySet, Value
from django.db.models.aggregates import Count
from django.db.models.expressions import BaseExpression, OrderBy
from django.db.models.functions import Coalesce
from django.db.models.lookups import IsNull

Rows = QuerySet[Any]
# More than any key of ours takes; a longer one is no mark.
LONGEST_MARK = 4_000
LARGEST = 2**63
NEVER_NULL = (Coalesce, Count, Exists)


@dataclass(frozen=True, slots=True)
class Key:
    """One column of an order. `name` is how a row has its value; `is_added` where the list's own rows haven't got it."""

    name: str
    expression: Any
    field: "Field[Any, Any]"
    is_descending: bool
    is_nullable: bool
    nulls_last: bool
    is_added: bool

    def backwards(self) -> "Key":
        return replace(self, is_descending=not self.is_descending, nulls_last=not self.nulls_last)


def keys_of(rows: Rows) -> list[Key] | None:
    """The order of a queryset with the primary key as its last word.

    None for one that is shuffled, cut, put together or of bare values.
    """
    query = rows.query
    is_bare = rows._fields is not None  # type: ignore[attr-defined]
    if query.combinator or query.is_sliced or query.extra_order_by or is_bare:
        return None
    asked: Sequence[Any] = query.order_by or (query.get_meta().ordering if query.default_ordering else ()) or ()
    if "?" in asked:
        return None
    keys: list[Key] = []
    for item in asked:
        keys += _keys(rows, item, f"row_key_{len(keys)}")
        if keys[-1].field.primary_key and keys[-1].field.model is rows.model._meta.concrete_model:
            return keys
    is_descending = keys[-1].is_descending if keys else False
    return [*keys, *_keys(rows, "-pk" if is_descending else "pk", f"row_key_{len(keys)}")]


def _keys(rows: Rows, item: Any, alias: str) -> list[Key]:
    nulls_last: bool | None = None
    asked: Any
    if isinstance(item, str):
        is_descending, asked = item.startswith("-"), F(item.lstrip("+-"))
    else:
        is_descending = isinstance(item, OrderBy) and item.descending
        asked = item.expression if isinstance(item, OrderBy) else item
        if isinstance(item, OrderBy) and (item.nulls_first or item.nulls_last):
            nulls_last = bool(item.nulls_last)
    if nulls_last is None:
        nulls_last = _nulls_last(rows.db, is_descending)
    path: str = getattr(asked, "name", "") if isinstance(asked, F) else ""
    if path and path not in rows.query.annotations:
        return _column(rows, path, alias, is_descending, nulls_last)
    known = rows.query.annotations[path] if path else _resolved(rows, asked)
    nullable = not isinstance(known, NEVER_NULL)
    return [Key(path or alias, asked, known.output_field, is_descending, nullable, nulls_last, not path)]


def _resolved(rows: Rows, expression: BaseExpression) -> Any:
    return expression.resolve_expression(rows.query.chain())


def _nulls_last(using: str, is_descending: bool) -> bool:
    return connections[using].features.nulls_order_largest is not is_descending


def _column(rows: Rows, path: str, alias: str, is_descending: bool, nulls_last: bool) -> list[Key]:
    """A field by its path. One that leads to another model is sorted by that model's own order, as the framework does it."""
    field, is_nullable = _field_at(rows.model, path)
    if field.is_relation and path.split("__")[-1] not in ("pk", getattr(field, "attname", "")):
        keys: list[Key] = []
        for item in field.related_model._meta.ordering or ("pk",):  # type: ignore[union-attr]
            down = item.startswith("-") is not is_descending
            inner = f"{path}__{item.lstrip('+-')}"
            keys += _column(rows, inner, f"{alias}_{len(keys)}", down, _nulls_last(rows.db, down))
        return keys
    is_far = "__" in path
    name = alias if is_far else field.attname
    return [Key(name, F(path), field, is_descending, is_nullable, nulls_last, is_far)]


def _field_at(model: type[Model], path: str) -> tuple[Any, bool]:
    field: Any = None
    is_nullable = False
    for step in path.split("__"):
        meta = model._meta
        field = meta.pk if step == "pk" else meta.get_field(step)
        is_nullable = is_nullable or bool(getattr(field, "null", False) or (field.one_to_one and field.auto_created))
        if field.is_relation:
            model = field.related_model
    if field is None:
        raise FieldDoesNotExist(path)
    return field, is_nullable


def with_keys(rows: Rows, keys: Sequence[Key]) -> Rows:
    """The rows in the order of the keys, each row with every key's value."""
    added = {key.name: key.expression for key in keys if key.is_added}
    return (rows.annotate(**added) if added else rows).order_by(*(_sorted_by(rows.db, key) for key in keys))


def _sorted_by(using: str, key: Key) -> OrderBy:
    """Without a modifier where the database does it anyway: an index in the column's order can serve it then."""
    if not key.is_nullable or key.nulls_last is _nulls_last(using, key.is_descending):
        return OrderBy(key.expression, descending=key.is_descending)
    where = {"nulls_last": True} if key.nulls_last else {"nulls_first": True}
    return OrderBy(key.expression, descending=key.is_descending, **where)


def values_at(row: Any, keys: Sequence[Key]) -> list[Any]:
    return [getattr(row, key.name) for key in keys]


def mark_of(row: Any, keys: Sequence[Key]) -> str:
    """A row's place in the order, for an address."""
    plain = [value.isoformat() if isinstance(value, date) else value for value in values_at(row, keys)]
    return urlsafe_b64encode(json.dumps(plain, separators=(",", ":"), ensure_ascii=False).encode()).decode().rstrip("=")


def values_of(mark: str, keys: Sequence[Key]) -> list[Any] | None:
    """What a mark says; None for one of another order, or that nobody made here."""
    try:
        if len(mark) > LONGEST_MARK:
            return None
        said = json.loads(urlsafe_b64decode(mark + "=" * (-len(mark) % 4)))
        if not isinstance(said, list) or len(said) != len(keys):
            return None
        return [_read(value, key) for value, key in zip(said, keys, strict=True)]
    except (ValueError, TypeError, OverflowError, RecursionError, ValidationError):
        return None


def _read(said: Any, key: Key) -> Any:
    if said is None and key.is_nullable:
        return None
    value = key.field.to_python(said) if isinstance(said, (str, int, float)) else None
    is_too_large = (isinstance(value, int) and abs(value) >= LARGEST) or (isinstance(value, float) and not math.isfinite(value))
    if value is None or is_too_large or (isinstance(value, str) and "\x00" in value):
        raise ValueError(said)
    if isinstance(value, str):
        value.encode()
    return value


class _Beyond(Func):
    """`(a, b) > (1, 2)`: one comparison of whole rows (SQL-92, 8.2), which an index over the columns serves from its place on."""

    template = "(%(expressions)s)"
    conditional = True

    def __init__(self, keys: Sequence[Key], values: Sequence[Any]) -> None:
        wanted = [Value(value, output_field=_plain(key.field)) for key, value in zip(keys, values, strict=True)]
        super().__init__(*(key.expression for key in keys), *wanted, output_field=BooleanField())
        self.sign = "<" if keys[0].is_descending else ">"

    def as_sql(self, compiler: Any, connection: Any, **extra: Any) -> tuple[str, list[Any]]:  # type: ignore[override]
        said = [compiler.compile(one) for one in self.get_source_expressions()]
        half = len(said) // 2
        left, right = (", ".join(sql for sql, _ in part) for part in (said[:half], said[half:]))
        return f"(({left}) {self.sign} ({right}))", [value for _, values in said for value in values]


def _plain(field: Any) -> Any:
    """The kind of a value that is compared with a key: of a row that is pointed to, its key."""
    return _plain(field.target_field) if field.is_relation else field


def behind(keys: Sequence[Key], values: Sequence[Any]) -> list[Q]:
    """Conditions that together hold for what stands behind the place, those nearest to it first; no row is of two of them."""
    return _behind(list(keys), list(values), Q())


def _behind(keys: list[Key], values: list[Any], so_far: Q) -> list[Q]:
    if not keys:
        return []
    run = 0
    for key, value in zip(keys, values, strict=True):
        if value is None or (key.is_nullable and key.nulls_last) or key.is_descending is not keys[0].is_descending:
            break
        run += 1
    if run:
        nearer = _behind(keys[run:], values[run:], so_far & _same(keys[:run], values[:run]))
        return [*nearer, so_far & Q(_Beyond(keys[:run], values[:run]))]
    key, value = keys[0], values[0]
    found = _behind(keys[1:], values[1:], so_far & _same([key], [value]))
    if value is not None:
        found.append(so_far & Q(_Beyond([key], [value])))
        return [*found, so_far & Q(IsNull(key.expression, True))] if key.is_nullable and key.nulls_last else found
    return found if key.nulls_last else [*found, so_far & Q(IsNull(key.expression, False))]


def _same(keys: Sequence[Key], values: Sequence[Any]) -> Q:
    same = Q()
    for key, value in zip(keys, values, strict=True):
        same &= Q(IsNull(key.expression, True)) if value is None else Q(_Equal(key, value))
    return same


class _Equal(_Beyond):
    def __init__(self, key: Key, value: Any) -> None:
        super().__init__([key], [value])
        self.sign = "="


def rows_between(rows: Rows, start: int, stop: int, shown: Rows | None = None) -> list[Any]:
    """Rows by their place in the list; as `shown` has them, where it is given in the same order."""
    return list(rows[start:stop] if shown is None else shown.filter(pk__in=rows.values("pk")[start:stop]))


def rows_behind(rows: Rows, keys: Sequence[Key], values: Sequence[Any], most: int, shown: Rows | None = None) -> list[Any]:
    """At most `most` rows behind the place; `rows` came from `with_keys`."""
    found: list[Any] = []
    for condition in behind(keys, values):
        found += rows_between(rows.filter(condition), 0, most - len(found), shown)
        if len(found) == most:
            break
    return found


def count_before(rows: Rows, keys: Sequence[Key], values: Sequence[Any], most: int) -> int:
    """How many stand before the place; `most` for that many or more."""
    backwards = [key.backwards() for key in keys]
    count = 0
    for condition in behind(backwards, values):
        count += counted(rows.filter(condition), most - count)
        if count >= most:
            break
    return count


def counted(rows: Rows, most: int) -> int:
    """How many there are, `most` for that many or more: a long list is never counted to its end."""
    return rows.order_by().values("pk")[:most].count()
