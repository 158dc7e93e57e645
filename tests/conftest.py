"""What every test may use: a clock that stands still, the fixed cast of staff, and for some a browser."""

import gc
import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from django.core.cache import cache
from django.core.management import call_command
from django.db import connection, connections, transaction
from django.test import Client
from django.utils import timezone

from shop.models import Role, Staff
from tests.kept_jobs import begin_keys_anew

pytest_plugins = ["tests.browser.driver"]

MONDAY = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
PASSWORD = "valve-and-chassis-42"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--database-only", action="store_true", help="leave out the tests that touch no database")
    parser.addoption("--long", action="store_true", help="also run what takes minutes: every odd value in every field")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The second database needs no second run of what touches none, but some ways of its own; long runs are asked for."""
    kept = items[:]
    if config.getoption("--database-only"):
        kept = [item for item in kept if _touches_a_database(item)]
    elif not config.getoption("--long"):
        kept = [item for item in kept if item.get_closest_marker("second") is None]
    if not config.getoption("--long"):
        kept = [item for item in kept if item.get_closest_marker("long") is None]
    staying = set(kept)
    config.hook.pytest_deselected(items=[item for item in items if item not in staying])
    items[:] = _long_ones_sooner(kept)


# At the very end one worker would be at such a one while the other waits.
LONG_MODULES = {"test_short_runs", "test_every_state", "test_the_invented_shop"}


def _long_ones_sooner(items: list[pytest.Item]) -> list[pytest.Item]:
    """Whole runs in processes of their own first; walks in the browser before all others that commit."""
    runs = [item for item in items if item.path.stem in LONG_MODULES]
    walks = [item for item in items if item.get_closest_marker("browser") is not None]
    taken = {*runs, *walks}
    others = [item for item in items if item not in taken]
    first = next((place for place, item in enumerate(others) if _commits(item)), len(others))
    return [*runs, *others[:first], *walks, *others[first:]]


def _commits(item: pytest.Item) -> bool:
    asked = item.get_closest_marker("django_db")
    by_marker = asked is not None and bool(asked.kwargs.get("transaction"))
    return by_marker or bool({"transactional_db", "live_server"} & set(getattr(item, "fixturenames", ())))


def pytest_collection_finish(session: pytest.Session) -> None:
    """What is imported and collected by now stays to the end: it needn't be gone through at every look for rubbish."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 50)


# How often a page asks is written in Python; where rows come in batches, SQLite's are the smaller ones.
COUNTS_QUESTIONS = re.compile(
    r"(same|as_many|no_more)_(few_)?(queries|questions)|number_of_(queries|questions)|asks?_(the_database_)?as_often"
)


def _touches_a_database(item: pytest.Item) -> bool:
    """Whether the second database may answer otherwise than the first."""
    one_is_enough = item.get_closest_marker("looks") is not None or COUNTS_QUESTIONS.search(item.name) is not None
    return not one_is_enough and _opens_a_database(item)


def _opens_a_database(item: pytest.Item) -> bool:
    asked = set(getattr(item, "fixturenames", ()))
    return item.get_closest_marker("django_db") is not None or bool(asked & {"db", "transactional_db", "live_server"})


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings: None, tmp_path_factory: pytest.TempPathFactory) -> None:
    """SQLite's test file gets a folder of its own, so that two runs never meet; and it needn't outlive a power cut."""
    for alias in connections:
        settings = connections[alias].settings_dict
        if settings["ENGINE"].endswith("sqlite3"):
            settings["TEST"]["NAME"] = str(tmp_path_factory.mktemp("database") / "test.sqlite3")
            options = settings["OPTIONS"]
            options["init_command"] = options["init_command"].replace("synchronous=FULL", "synchronous=OFF")


@pytest.fixture(scope="session", autouse=True)
def _emptying_may_delete() -> Iterator[None]:
    """Tests that commit empty all tables afterwards, ledgers too; the triggers that forbid this stand aside just then.

    On SQLite: PostgreSQL truncates, which asks no trigger of a row.
    """
    kinds = {type(one.ops) for one in connections.all() if one.vendor == "sqlite"}
    with pytest.MonkeyPatch.context() as patch:
        for kind in kinds:
            patch.setattr(kind, "execute_sql_flush", _unguarded(kind.execute_sql_flush))
        yield


def _unguarded(execute: Callable[..., None]) -> Callable[..., None]:
    def execute_sql_flush(self: Any, sql_list: list[str]) -> None:
        with transaction.atomic(using=self.connection.alias), self.connection.cursor() as cursor:
            cursor.execute(
                "SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger' AND sql LIKE '%%DELETE ON%%'", ()
            )
            guards = [guard for guard in cursor.fetchall() if _has_rows(cursor, guard[1])]
            for name, _, _ in guards:
                cursor.execute(f'DROP TRIGGER "{name}"')
            execute(self, sql_list)
            for _, _, sql in guards:
                cursor.execute(sql)

    return execute_sql_flush


def _has_rows(cursor: Any, table: str) -> bool:
    cursor.execute(f'SELECT EXISTS (SELECT 1 FROM "{table}")')
    return bool(cursor.fetchone()[0])


@pytest.fixture(autouse=True)
def _keys_begin_anew(request: pytest.FixtureRequest) -> None:
    """Keys given in a test that was rolled back are given again, as on SQLite; so a job that was built before can be put back."""
    if connection.vendor == "postgresql" and _opens_a_database(request.node):
        request.getfixturevalue("db")
        begin_keys_anew()


@pytest.fixture(autouse=True)
def _nothing_learned() -> None:
    """What the process keeps of past jobs goes by row numbers, which start anew with every test."""
    cache.clear()


@pytest.fixture(scope="session")
def _folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """An empty folder each time. `tmp_path` takes three milliseconds, which thousands of tests that write no file don't need."""
    within = tmp_path_factory.mktemp("shops")
    return (within / str(number) for number in count())


@pytest.fixture(autouse=True)
def _own_folders(settings: Any, _folders: Iterator[Path]) -> None:
    """Photos go where nobody keeps any; passwords are hashed fast."""
    folder = next(_folders)
    folder.mkdir()
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.MEDIA_ROOT = folder / "photos"
    # A test moves the clock by months and signs in as it likes; what holds people to it has tests of its own.
    settings.AXES_ENABLED = False
    settings.IDLE_LIMIT = settings.LONGEST_SIGN_IN = timedelta(days=36_500)
    settings.SESSION_COOKIE_AGE = 36_500 * 86_400
    settings.WAITING_FOLDER = folder / "waiting"
    settings.BACKUP_FOLDER = folder / "backups"


class StillClock:
    """Stands at Monday 2 March 2026, 9:30 UTC, until a test moves it."""

    def __init__(self) -> None:
        self.now = MONDAY

    def __call__(self) -> datetime:
        return self.now

    def forward(self, **how_far: float) -> datetime:
        """`forward(days=90)`: takes what timedelta takes and gives the new time."""
        self.now += timedelta(**how_far)
        return self.now


@pytest.fixture
def still_clock(monkeypatch: pytest.MonkeyPatch) -> StillClock:
    clock = StillClock()
    monkeypatch.setattr(timezone, "now", clock)
    return clock


def make_staff(username: str, role: Role, shown_name: str) -> Staff:
    return Staff.objects.create_user(username=username, password=PASSWORD, role=role, shown_name=shown_name)


@pytest.fixture
def owner(db: None) -> Staff:
    return make_staff("owner", Role.OWNER, "Orla Quillfeather")


@pytest.fixture
def colleague(db: None) -> Staff:
    return make_staff("colleague", Role.BENCH, "Benno Tarnwick")


@pytest.fixture
def counter(db: None) -> Staff:
    return make_staff("counter", Role.COUNTER, "Cosima Underley")


def signed_in(person: Staff) -> Client:
    client = Client()
    client.force_login(person)
    return client


@pytest.fixture
def owner_client(owner: Staff) -> Client:
    return signed_in(owner)


@pytest.fixture
def colleague_client(colleague: Staff) -> Client:
    return signed_in(colleague)


@pytest.fixture
def counter_client(counter: Staff) -> Client:
    return signed_in(counter)


@pytest.fixture
def stranger_client() -> Client:
    """Nobody who is signed in."""
    return Client()


@pytest.fixture
def run_command(capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """Run one of our commands in this process and give what it printed."""

    def run(name: str, *arguments: str, **options: Any) -> str:
        capsys.readouterr()
        call_command(name, *arguments, **options)
        return capsys.readouterr().out

    return run
