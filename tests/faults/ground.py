"""Ground for the fault runs: a database of its own, made and thrown away, that child processes share by the environment."""

import os
import sys
import tempfile
from collections.abc import Callable, Iterator
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
            let_go()


def _migrate(from_models: bool) -> None:
    import django
    from django.apps import apps
    from django.conf import settings
    from django.core.management import call_command

    django.setup()
    if from_models:
        settings.MIGRATION_MODULES = {config.label: None for config in apps.get_app_configs()}
    call_command("migrate", verbosity=0, run_syncdb=from_models)


def let_go() -> None:
    from django.db import connections

    connections.close_all()


def counted_in_a_child(name: str, work: Callable[[], int]) -> int | None:
    """The number that `work` gives; None where it died. The child has its own connection, as a process of its own has."""
    let_go()
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.write(writing, str(work()).encode())
        except BaseException as error:
            os.write(writing, f"{type(error).__name__}: {error}".encode())
        finally:
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading) as told:
        said = told.read()
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return None
    if not said.isdecimal():
        raise RuntimeError(f"{name}: {said}")
    return int(said)


def differences() -> list[str]:
    """Everything that `manage.py verify` would print as a difference."""
    from shop.verification import verify

    return [f"{found.name}: {one}" for found in verify() for one in found.differences]


def say(*words: object) -> None:
    print(*words, flush=True)


def worker_command(module: str, *words: object) -> list[str]:
    return [sys.executable, "-m", module, *(str(word) for word in words)]
