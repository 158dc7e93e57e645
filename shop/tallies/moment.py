"""Counting at one moment: what is written meanwhile is either all in it or not at all.

PostgreSQL reads one snapshot. On SQLite a long reader would hold up every writer (rollback journal), so nothing is held: what
the house wrote last is looked at before and after, and where it differs the count begins anew. After some tries in a busy hour
the last one holds the writers up.
"""

from collections.abc import Callable
from typing import TypeVar

from django.apps import apps
from django.db import connection, transaction
from django.db.models import Max

from shop.append_only import LEDGERS

T = TypeVar("T")
TRIES = 3
# Comings and goings change no figure.
NO_FIGURES = frozenset({"shop_accessevent"})


def at_one_moment(count: Callable[[], T]) -> T:
    if connection.in_atomic_block:
        return count()
    if connection.vendor == "postgresql":
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            return count()
    for _ in range(TRIES):
        before = last_written()
        found = count()
        if last_written() == before:
            return found
    with transaction.atomic():
        return count()


def last_written() -> tuple[int | None, ...]:
    """The newest row of every ledger. Changes of other tables are rows of the audit's."""
    ledgers = (model for model in apps.get_models() if model._meta.db_table in LEDGERS and model._meta.db_table not in NO_FIGURES)
    return tuple(model._base_manager.aggregate(newest=Max("pk"))["newest"] for model in ledgers)
