"""Ground for the fault runs: a database of its own, made and thrown away, that child processes share by the environment."""

import os
import signal
import sys
import tempfile
import time
import traceback
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
def ground(database: str, *, durable: bool = False, by_migrations: bool = False) -> Iterator[Ground]:
    """An empty shop of this process and its children.

    Its tables are made straight from the models and every migration is written down as applied, which saves fifteen seconds;
    `by_migrations` goes through them all. A process can stand on one ground only, as the framework reads its settings once.
    """
    with tempfile.TemporaryDirectory(prefix="shop-faults-", ignore_cleanup_errors=True) as name:
        os.environ["SHOP_FOLDER"] = name
        os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
        os.environ.pop("DATABASE_URL", None)
        if database == "sqlite":
            _migrate(by_migrations)
            yield Ground(Path(name))
            return
        with running_cluster(durable=durable) as cluster:
            os.environ["DATABASE_URL"] = cluster.url
            with _waiting_for_no_disk():
                _migrate(by_migrations)
            yield Ground(Path(name), cluster)
            let_go()


@contextmanager
def _waiting_for_no_disk() -> Iterator[None]:
    """Making the tables needn't outlive a kill; what comes afterwards, on connections of its own, must."""
    os.environ["PGOPTIONS"] = "-c synchronous_commit=off"
    try:
        yield
    finally:
        let_go()
        del os.environ["PGOPTIONS"]


def _migrate(by_migrations: bool) -> None:
    import django
    from django.core.management import call_command

    django.setup()
    if by_migrations:
        call_command("migrate", verbosity=0)
        return
    _make_from_models()
    _write_down_as_applied()


def _make_from_models() -> None:
    from django.apps import apps
    from django.core.management import call_command
    from django.test import override_settings

    with override_settings(MIGRATION_MODULES={config.label: None for config in apps.get_app_configs()}):
        call_command("migrate", verbosity=0, run_syncdb=True)


def _write_down_as_applied() -> None:
    """A restored copy, and `manage.py start`, bring up what isn't written down as applied."""
    from django.db import connection
    from django.db.migrations.loader import MigrationLoader
    from django.db.migrations.recorder import MigrationRecorder

    loader, recorder = MigrationLoader(None), MigrationRecorder(connection)
    recorder.ensure_schema()
    recorder.migration_qs.bulk_create(recorder.Migration(app=app, name=name) for app, name in loader.disk_migrations)


def let_go() -> None:
    from django.db import connections

    connections.close_all()


class Forked:
    """A process that does `work` on a connection of its own; what it prints is `stdout`.

    It is forked from this one, as starting Python and reading the program anew takes four seconds.
    """

    def __init__(self, work: Callable[[], object]) -> None:
        let_go()
        sys.stdout.flush()
        reading, writing = os.pipe()
        self._errors = tempfile.TemporaryFile("w+")  # noqa: SIM115 - it lives as long as this
        self.returncode: int | None = None
        self.pid = os.fork()
        if self.pid == 0:
            self._do(work, writing)
        os.close(writing)
        self.stdout = os.fdopen(reading)

    def _do(self, work: Callable[[], object], writing: int) -> None:
        code = 1
        try:
            os.dup2(writing, 1)
            os.dup2(self._errors.fileno(), 2)
            work()
            code = 0
        except BaseException:
            traceback.print_exc()
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(code)

    def errors(self) -> str:
        """What it said of its end; to be asked once it has ended."""
        self._errors.seek(0)
        return self._errors.read()

    def kill(self) -> None:
        if self.returncode is None:
            os.kill(self.pid, signal.SIGKILL)

    def wait(self, longest_seconds: float = 60.0) -> int:
        """Its exit code, negative where a signal ended it. Raises TimeoutError where it goes on."""
        ends_at = time.monotonic() + longest_seconds
        while self.returncode is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.returncode = os.waitstatus_to_exitcode(status)
            elif time.monotonic() > ends_at:
                raise TimeoutError(f"process {self.pid} hasn't ended within {longest_seconds} s")
            else:
                time.sleep(0.01)
        return self.returncode


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
