"""How SQLite finds rows: the lines of EXPLAIN QUERY PLAN for every question asked within."""

from collections.abc import Callable

from django.db import connection
from django.test.utils import CaptureQueriesContext


def plans_of(work: Callable[[], object]) -> list[str]:
    """Lines such as `SCAN inventory_part` or `SEARCH inventory_lot USING INDEX …`. Only on SQLite."""
    with CaptureQueriesContext(connection) as asked:
        work()
    found = []
    with connection.cursor() as cursor:
        for question in asked:
            if question["sql"].startswith("SELECT"):
                cursor.execute(f"EXPLAIN QUERY PLAN {question['sql']}".replace("%", "%%"), ())
                found += [row[3] for row in cursor.fetchall()]
    return found
