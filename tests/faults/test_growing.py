"""A shop that grows out of its file: to a server and back, the same to the byte, on databases of their own."""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import dj_database_url
import pytest
from django.core.management import CommandError, call_command
from django.db import connection, connections

from shop.archive import moving
from shop.archive.moving import move, moved_elsewhere, place_of
from shop.archive.refusing import Unfit
from shop.archive.snapshot import another
from shop.archive.writing import write
from shop.clock import now
from shop.database import sqlite_settings
from shop.management import ready
from shop.models import Customer, Profile
from shop.setup.cluster import scratch_cluster
from tests import builders as make

SERVER, FILE = "a server of its own", "a file of its own"


def settings_of(**found: Any) -> dict[str, Any]:
    return {**connection.settings_dict, "USER": "", "PASSWORD": "", "HOST": "", "PORT": "", "OPTIONS": {}, **found}


@pytest.fixture
def server(db: None) -> Iterator[str]:
    """A server with the tables of a shop, and nothing in them."""
    with scratch_cluster() as url, another(SERVER, settings_of(**dj_database_url.parse(url))):
        call_command("migrate", database=SERVER, run_syncdb=True, verbosity=0, interactive=False)
        yield SERVER


@pytest.fixture
def file(db: None, tmp_path: Path) -> Iterator[str]:
    with another(FILE, settings_of(**sqlite_settings(tmp_path / "shop.sqlite3"))) as made:
        made.settings_dict["OPTIONS"]["init_command"] = "PRAGMA synchronous=OFF;PRAGMA foreign_keys=ON;"
        call_command("migrate", database=FILE, run_syncdb=True, verbosity=0, interactive=False)
        yield FILE


def archive_of(alias: str) -> bytes:
    out = io.BytesIO()
    write(out, alias=alias)
    return out.getvalue()


def a_shop() -> None:
    """With what databases keep each in their own way: texts in any script, JSON, times, odd numbers."""
    make.a_fit()
    job = make.a_job("repairing")
    make.a_customer(name="Śnieżka 小さな \u202e “x” 🎛")
    assert job.customer.name


@pytest.mark.postgresql
def test_a_shop_moves_to_a_server_and_back_to_the_byte(server: str, file: str) -> None:
    a_shop()
    before = archive_of("default")
    told: list[tuple[int, int]] = []
    moved = move("default", server, lambda done, total: told.append((done, total)))
    assert moved.rows == sum(one.rows for one in moved.tables) > 50
    assert told[-1][0] == told[-1][1] == 2 * moved.rows
    assert archive_of(server) == before
    assert move(server, file).tables == moved.tables
    assert archive_of(file) == before
    # Neither database is behind with the keys of new rows.
    newest = Customer.objects.order_by("-pk")[0].pk
    for alias in (server, file):
        assert Customer.objects.using(alias).create(name="Next Nigel", created_at=now()).pk == newest + 1
    with pytest.raises(Unfit, match="This database isn't empty"):
        move("default", server)


@pytest.mark.django_db
def test_nothing_is_there_where_a_move_broke_off(file: str, monkeypatch: pytest.MonkeyPatch) -> None:
    a_shop()

    def broken(*_: Any) -> None:
        raise Unfit("Table shop.customer doesn't come back as it was given.")

    monkeypatch.setattr("shop.archive.loading._set_counters", broken)
    with pytest.raises(Unfit):
        move("default", file)
    assert not Profile.objects.using(file).exists()
    assert not Customer.objects.using(file).exists()


@pytest.mark.django_db
def test_a_database_that_was_left_is_not_started_by_mistake(settings: Any, tmp_path: Path) -> None:
    settings.SHOP_FOLDER = tmp_path
    here = connections["default"].settings_dict
    assert moved_elsewhere(here) == ""
    moving.leave_note(place_of(here), now())
    assert moved_elsewhere(here) == ""
    other = "SQLite at /cellar/shop.sqlite3" if connection.vendor == "postgresql" else "PostgreSQL at cellar, database shop"
    moving.leave_note(other, now())
    with pytest.raises(CommandError, match=f"was moved to {other}; this is .*, which it left"):
        ready.migrate()


@pytest.mark.django_db
def test_growing_without_a_server_says_what_to_set() -> None:
    if connection.vendor == "sqlite":
        with pytest.raises(CommandError, match=r"^Set DATABASE_URL to the PostgreSQL database, such as postgres://"):
            call_command("grow")
