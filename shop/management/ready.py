"""Making the database ready before a command uses it, and refusing one that belongs to something else."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from shop.management.progress import shown

OURS = {"shop_profile", "django_migrations"}


@contextmanager
def reachable() -> Iterator[None]:
    """Says in a sentence when the database can't be reached or stays locked."""
    try:
        yield
    except DatabaseError as error:
        said = " ".join(str(error).split())[:300]
        raise CommandError(
            f"The database can't be used: {said}. See that it runs, that DATABASE_URL is right and that nobody else holds it, "
            "then start again."
        ) from error


def migrate() -> None:
    """Bring the tables up to date. A database that holds other tables than ours is left alone."""
    with reachable():
        tables = set(connection.introspection.table_names())
        if tables and not tables & OURS:
            raise CommandError(
                "This database holds the tables of something else, so nothing was written to it. "
                "Give DATABASE_URL an empty database, or leave it unset."
            )
        executor = MigrationExecutor(connection)
        plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
        if not plan:
            return
        with shown("Making the tables", len(plan)):
            call_command("migrate", verbosity=0, interactive=False)
