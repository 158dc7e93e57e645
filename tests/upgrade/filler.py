"""Rows for every table of any state that the migrations went through, made from that state's models alone.

A row is thrown by dice from what its fields allow (length, choices, uniqueness, rows that foreign keys may name), bent until the
check constraints hold, and then the database itself says whether it will have it.
"""

import random
import uuid
from collections.abc import Iterable
from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.apps.registry import Apps
from django.db import IntegrityError, connection, models, transaction
from django.db.models import Q
from django.db.models.expressions import CombinedExpression, F, Value

MOST_TRIES = 60
# What the framework fills by itself after every migration.
NOT_OURS = {"contenttypes", "auth"}
BEGINNING = datetime(2024, 2, 5, 9, 30, tzinfo=UTC)
Row = dict[str, Any]
# Table -> primary key -> column -> value, as the database gives it.
Kept = dict[str, dict[Any, Row]]


class Filler:
    """Fills the same database once or more, as its tables change."""

    def __init__(self, seed: int = 1) -> None:
        self.dice = random.Random(seed)
        self.serial = 0
        self.keys: dict[str, list[Any]] = {}

    def fill(self, apps: Apps, rows: int) -> tuple[Kept, list[str]]:
        """What was put in, and the tables that would take nothing. The dice prefer the rows of this call for foreign keys."""
        there = _in_order(apps)
        troubles: list[str] = []
        made: dict[str, list[Any]] = {}
        self.keys = {}
        for model in there:
            for _ in range(rows):
                key = self._put(model)
                if key is not None:
                    made.setdefault(model._meta.db_table, []).append(key)
            if not self._keys(model):
                troubles.append(f"no row could be made for {model._meta.label}")
        by_table = {model._meta.db_table: model for model in there}
        return {table: _read(by_table[table], keys) for table, keys in made.items()}, troubles

    def _put(self, model: type[models.Model]) -> Any:
        """The key of a new row; None where the table will have none (more)."""
        tries = MOST_TRIES if not self._keys(model) else MOST_TRIES // 6
        for _ in range(tries):
            row = self._row(model)
            if row is None:
                return None
            if not all(_holds(one.condition, row, model) for one in _checks(model)):
                continue
            try:
                with transaction.atomic():
                    made = model(**row)
                    made.save(force_insert=True)
            except IntegrityError:
                continue
            self.keys[model._meta.label].append(made.pk)
            return made.pk
        return None

    def _keys(self, model: type[models.Model]) -> list[Any]:
        label = model._meta.label
        if label not in self.keys:
            self.keys[label] = list(model._base_manager.order_by("pk").values_list("pk", flat=True)[:50])
        return self.keys[label]

    def _row(self, model: type[models.Model]) -> Row | None:
        """None where a foreign key must name a row and there is none."""
        self.serial += 1
        row: Row = {}
        for field in model._meta.concrete_fields:
            if isinstance(field, models.AutoField) or field.generated:
                continue
            value = self._value(field)
            if value is None and not field.null:
                return None
            row[field.attname] = value
        for _ in range(4):
            for one in _checks(model):
                if not _holds(one.condition, row, model):
                    self._bend(one.condition, row, model, True)
        return row

    def _value(self, field: Any) -> Any:
        if field.is_relation:
            return self._key_of(field)
        if field.null and self.dice.random() < 0.3:
            return None
        if field.flatchoices:
            return self.dice.choice([value for value, _ in field.flatchoices])
        if field.has_default() and not field.unique and self.dice.random() < 0.4:
            return field.get_default()
        return self._thrown(field)

    def _key_of(self, field: Any) -> Any:
        keys = self._keys(field.remote_field.model)
        if not keys or (field.null and self.dice.random() < 0.3):
            return None
        newest = keys[-3:] if self.dice.random() < 0.7 else keys
        return self.dice.choice(newest)

    def _thrown(self, field: Any) -> Any:
        """A value of the field's kind; a different one each time where rows may not share it."""
        number, dice = self.serial, self.dice
        moment = BEGINNING + timedelta(hours=number)
        match field:
            case models.BooleanField():
                return dice.random() < 0.5
            case models.FloatField():
                return dice.randrange(1, 400) / 4
            case models.DecimalField():
                return Decimal(dice.randrange(1, 90))
            case models.IntegerField():
                return number if field.unique else dice.randrange(1, 9)
            case models.DateTimeField():
                return moment
            case models.DateField():
                return moment.date()
            case models.TimeField():
                return time(9, number % 60)
            case models.DurationField():
                return timedelta(minutes=number)
            case models.UUIDField():
                return uuid.UUID(int=dice.getrandbits(128))
            case models.JSONField():
                return field.get_default() if field.has_default() else {}
            case models.BinaryField():
                return number.to_bytes(4, "big")
            case models.GenericIPAddressField():
                return f"192.0.2.{number % 250}"
            case models.CharField() | models.TextField() | models.FileField():
                return self._text(field)
        raise NotImplementedError(f"{field}: no value is known for a {type(field).__name__}")

    def _text(self, field: Any) -> str:
        if field.blank and not field.unique and self.dice.random() < 0.3:
            return ""
        longest = field.max_length or 60
        said = f"{self.serial:x}"
        return f"{said} {field.name} “½ Ω”"[:longest] if longest > len(said) else said[-longest:]

    def _bend(self, q: Q, row: Row, model: type[models.Model], want: bool) -> None:
        """Change the row so that the condition comes out as wanted; where one part suffices, the dice choose it."""
        want ^= q.negated
        every = (q.connector == Q.AND) == want
        for child in q.children if every else [self.dice.choice(q.children)]:
            if isinstance(child, Q):
                self._bend(child, row, model, want)
            else:
                lookup, worth = child  # type: ignore[misc]
                self._bend_leaf(lookup, worth, row, model, want)

    def _bend_leaf(self, lookup: str, value: Any, row: Row, model: type[models.Model], want: bool) -> None:
        field, op = _leaf(lookup, model)
        other = _worth(value, row, model)
        if op == "isnull":
            row[field.attname] = None if other == want else self._something(field)
        elif op == "in":
            row[field.attname] = self.dice.choice(list(other)) if want else self._something(field)
        elif op in ("exact", "gte", "lte") and want:
            row[field.attname] = other
        elif isinstance(other, bool):
            row[field.attname] = not other
        elif isinstance(other, int | float) and other is not None:
            row[field.attname] = other + (1 if (op in ("gt", "exact", "lte")) else -1)
        else:
            row[field.attname] = self._something(field)

    def _something(self, field: Any) -> Any:
        if not field.is_relation:
            return self._thrown(field) if not field.flatchoices else self.dice.choice([value for value, _ in field.flatchoices])
        keys = self._keys(field.remote_field.model)
        return self.dice.choice(keys) if keys else None


def _in_order(apps: Apps) -> list[type[models.Model]]:
    """Every model after those that its foreign keys must name; once more those whose keys may name what comes later.

    Compared by label, as a state draws its classes anew while others still name the earlier ones.
    """
    waiting = {model._meta.label: model for model in apps.get_models(include_auto_created=True) if _is_filled(model)}
    placed: dict[str, type[models.Model]] = {}
    while waiting:
        free = {label: model for label, model in waiting.items() if not (_named(model, False) - {label}) & set(waiting)}
        if not free:
            raise NotImplementedError(f"{list(waiting)}: their foreign keys must name each other")
        placed |= free
        waiting = {label: model for label, model in waiting.items() if label not in free}
    labels = list(placed)
    again = [model for at, (label, model) in enumerate(placed.items()) if _named(model, True) & set(labels[at:])]
    return [*placed.values(), *again]


def _is_filled(model: type[models.Model]) -> bool:
    made_of = {label.partition(".")[0] for label in _named(model, False)}
    return model._meta.app_label not in NOT_OURS and not made_of & NOT_OURS and not model._meta.proxy and model._meta.managed


def _named(model: type[models.Model], may_be_empty: bool) -> set[str]:
    fields = model._meta.concrete_fields
    return {one.remote_field.model._meta.label for one in fields if one.is_relation and one.null == may_be_empty}


def _checks(model: type[models.Model]) -> list[models.CheckConstraint]:
    return [one for one in model._meta.constraints if isinstance(one, models.CheckConstraint)]


def _leaf(lookup: str, model: type[models.Model]) -> tuple[Any, str]:
    name, _, op = lookup.partition("__")
    return model._meta.pk if name == "pk" else model._meta.get_field(name), op or "exact"


def _worth(value: Any, row: Row, model: type[models.Model]) -> Any:
    match value:
        case F():
            return row[_leaf(value.name, model)[0].attname]  # type: ignore[attr-defined]
        case Value():
            return value.value
        case CombinedExpression():
            left, right = _worth(value.lhs, row, model), _worth(value.rhs, row, model)
            return {"+": left + right, "-": left - right, "*": left * right}[value.connector]
    return value


def _holds(q: Q, row: Row, model: type[models.Model]) -> bool:
    found = (
        _holds(child, row, model) if isinstance(child, Q) else _leaf_holds(child[0], child[1], row=row, model=model)  # type: ignore[index]
        for child in q.children
    )
    return (all(found) if q.connector == Q.AND else any(found)) != q.negated


def _leaf_holds(lookup: str, value: Any, *, row: Row, model: type[models.Model]) -> bool:
    field, op = _leaf(lookup, model)
    own, other = row.get(field.attname), _worth(value, row, model)
    if op == "isnull":
        return (own is None) == other
    if op == "in":
        return own in other
    if own is None or other is None:
        return False
    return bool({"exact": own == other, "gte": own >= other, "lte": own <= other, "gt": own > other, "lt": own < other}[op])


def _read(model: type[models.Model], keys: Iterable[Any]) -> dict[Any, Row]:
    columns = [field.column for field in model._meta.concrete_fields]
    return read_rows(model._meta.db_table, model._meta.pk.column, columns, list(keys))


def read_rows(table: str, key: str, columns: list[str], keys: list[Any]) -> dict[Any, Row]:
    """Rows by key, as the database holds them."""
    name = connection.ops.quote_name
    asked = f"SELECT {', '.join(name(one) for one in [key, *columns])} FROM {name(table)}"
    with connection.cursor() as cursor:
        cursor.execute(asked)
        found = {row[0]: dict(zip(columns, row[1:], strict=True)) for row in cursor.fetchall()}
    wanted = {str(one).replace("-", "") for one in keys}
    return {own: row for own, row in found.items() if str(own).replace("-", "") in wanted}


__all__ = ["Filler", "Kept", "Row", "read_rows"]
