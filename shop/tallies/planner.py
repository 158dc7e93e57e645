"""How much lies in each table, as the database's planner knows it: after years its guesses of the first day choose slow ways.

PostgreSQL's `ANALYZE` samples by itself; SQLite reads at most so many rows of an index (https://www.sqlite.org/lang_analyze.html,
"Approximate ANALYZE For Large Databases", advises 100 to 1000).
"""

from django.db import connection

LOOK_AT_SO_MANY_ROWS = "PRAGMA analysis_limit=1000"


def refresh_planner() -> None:
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(LOOK_AT_SO_MANY_ROWS)
        cursor.execute("ANALYZE")
