"""README.txt of an archive: every table and column in plain words, for somebody who hasn't got the program."""

import inspect
import textwrap
from collections.abc import Iterator
from typing import Any

from django.db import models

from shop.archive.rows import Column, columns_of
from shop.archive.tables import LEFT_OUT

_HEAD = """
This file holds everything that a workshop for valve and early transistor radios wrote down: its customers, sets, jobs, parts,
bills and books. Nothing but this text is needed to read it.

  tables/APP.TABLE.jsonl   one row a line, each a JSON object (RFC 8259, UTF-8), by primary key
  files/...                photos and drawings, under the names that the rows give
  manifest.json            for each of these: how many bytes and rows, sums of money and of things, and the SHA-256 digest

How values are written: times in UTC with microseconds (2026-03-02T09:30:00.000000Z), days as 2026-03-02, sums of money as whole
numbers: a column ending in _minor counts the smallest coin of the shop's currency (pence, cents), one ending in _milli
thousandths of it; the currency stands in manifest.json and in shop.profile. "Refers to" names the table whose primary key
stands there. null says that nothing is known or that it doesn't apply.

The file holds names, addresses and telephone numbers of customers: keep it as safe as the shop's own books. Passwords of the
staff are in it only as hashes. To set a shop up from it: python3 manage.py archive in FILE, with a new, empty folder or database.
"""


def explained(found: list[type[models.Model]]) -> bytes:
    """The text, made from what the program calls its tables and columns."""
    parts = [_HEAD.strip(), *("\n".join(_table(model)) for model in found), "\n".join(_absent())]
    return ("\n\n\n".join(parts) + "\n").encode()


def _table(model: type[models.Model]) -> Iterator[str]:
    meta = model._meta
    yield f"tables/{meta.label_lower}.jsonl: {meta.verbose_name_plural}"
    yield from _wrapped(_said_of(model), "  ")
    for column in columns_of(model):
        yield from _wrapped(f"{column.name}: {_column(column)}", "    ", "  ")


def _said_of(model: type[models.Model]) -> str:
    """The first words of the model's own description; the framework's made-up signature says nothing."""
    text = inspect.cleandoc(model.__doc__ or "").replace("`", "").split("\n\n")[0]
    return "" if text.startswith(f"{model.__name__}(") else " ".join(text.split())


def _wrapped(text: str, indent: str, first: str | None = None) -> list[str]:
    return textwrap.wrap(text, 118, initial_indent=indent if first is None else first, subsequent_indent=indent)


def _column(column: Column) -> str:
    field = column.field
    words = ["primary key"] if field.primary_key else _name(column)
    words.append(f"refers to {field.related_model._meta.label_lower}" if field.is_relation else _type(column))
    if field.null:
        words.append("or null")
    return ", ".join(words) + _choices(field) + (f". {field.help_text}" if field.help_text else "")


def _name(column: Column) -> list[str]:
    """What the program calls the column, where that says more than its name."""
    name = str(column.field.verbose_name)
    return [] if name == column.field.name.replace("_", " ") else [name]


def _type(column: Column) -> str:
    if column.name.endswith("_minor"):
        return "money in the smallest coin"
    if column.name.endswith("_milli"):
        return "money in thousandths of the smallest coin"
    return column.kind.words


def _choices(field: Any) -> str:
    choices = list(field.flatchoices)
    return " (" + "; ".join(f"{code or 'blank'} = {label}" for code, label in choices) + ")" if choices else ""


def _absent() -> Iterator[str]:
    yield "What isn't here:"
    for label, why in sorted(LEFT_OUT.items()):
        yield from _wrapped(f"{label}: {why}", "    ", "  ")
    yield "  The shop's key (secret.key) and the counts of wrong passwords aren't here either."
