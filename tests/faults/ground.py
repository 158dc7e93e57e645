"""Ground for the fault runs: a database of its own, made and thrown away, that child processes share by the environment."""

import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from shop.setup.cluster import Cluster, running_cluster

ROOT = Path(__file__).resolve().parents[2]
DATABASES = ("sqlite", "postgresql")


@dataclass(frozen=True)
class Ground:
    """The shop's folder, and the database server where it isn't a file in that folder."""

    folder: Path
    cluster: Cluster | None = None


@contextmanager
def ground(database: str, *, durable: bool = False, from_models: bool = False) -> Iterator[Ground]:
    """A migrated, empty shop of this process and its children.

    `from_models`: its tables are made straight from the models, which is quicker. A process can stand on one ground only, as
    the framework reads its settings once.
    """
    with tempfile.TemporaryDirectory(prefix="shop-faults-", ignore_cleanup_errors=True) as name:
        os.environ["SHOP_FOLDER"] = name
        os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
        os.environ.pop("DATABASE_URL", None)
        if database == "sqlite":
            _migrate(from_models)
            yield Ground(Path(name))
            return
        with running_cluster(durable=durable) as cluster:
            os.environ["DATABASE_URL"] = cluster.url
            _migrate(from_models)
            yield Ground(Path(name), cluster)
            _let_go()


def _migrate(from_models: bool) -> None:
    import django
    from django.apps import apps
    from django.conf import settings
    from django.core.management import call_command

    django.setup()
    if from_models:
        settings.MIGRATION_MODULES = {config.label: None for config in apps.get_app_configs()}
    call_command("migrate", verbosity=0, run_syncdb=from_models)


def _let_go() -> None:
    from django.db import connections

    connections.close_all()


def differences() -> list[str]:
    """Everything that `manage.py verify` would print as a difference."""
    from shop.verification import verify

    return [f"{found.name}: {one}" for found in verify() for one in found.differences]


def say(*words: object) -> None:
    print(*words, flush=True)


def worker_command(module: str, *words: object) -> list[str]:
    return [sys.executable, "-m", module, *(str(word) for word in words)]
