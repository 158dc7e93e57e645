"""How far the tables of a copy are behind this program's, or ahead of them."""

from collections.abc import Iterable

from django.db import connection
from django.db.migrations.loader import MigrationLoader


def _ours() -> set[str]:
    loader = MigrationLoader(None, ignore_no_migrations=True)
    return {f"{app}.{name}" for app, name in loader.disk_migrations}


def _replaced() -> set[str]:
    """Migrations that were folded into another; a copy may still name them."""
    loader = MigrationLoader(None, ignore_no_migrations=True)
    return {f"{app}.{name}" for one in loader.disk_migrations.values() for app, name in one.replaces}


def unknown(applied: Iterable[str]) -> list[str]:
    """What this program has never heard of: the copy is of a newer one."""
    return sorted(set(applied) - _ours() - _replaced())


def behind(applied: Iterable[str]) -> list[str]:
    return sorted(_ours() - set(applied))


def to_come() -> list[str]:
    """What `migrate` would change in the shop's own database."""
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return [f"{migration.app_label}.{migration.name}" for migration, _ in plan]
