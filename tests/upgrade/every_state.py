"""Fills a shop in every state that its tables ever had, brings each up to the newest program, and looks for what went missing.

`python3 -m tests.upgrade.every_state --database sqlite` (or `postgresql`). First one shop goes up through all states and gets
rows in each; then, for each state, a shop of its own is filled there and brought up by the program's own command in one go. At
the end a shop of some migrations ago is started as people do.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Any

from shop.setup.cluster import running_cluster

ROOT = Path(__file__).resolve().parents[2]
DATABASES = ("sqlite", "postgresql")
# A shop of so many migrations ago is started as people do.
BACK = 4
# The short form fills a shop after so many migrations at a time.
SHORT_AT_ONCE = 7


def say(*words: object) -> None:
    print(*words, flush=True)


@contextmanager
def empty_ground(database: str) -> Iterator[Callable[[str], None]]:
    """An empty database. Gives a function that moves over to a copy of it as it stands, or back with an empty name."""
    with tempfile.TemporaryDirectory(prefix="shop-upgrade-", ignore_cleanup_errors=True) as name:
        os.environ["SHOP_FOLDER"] = name
        os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
        os.environ.pop("DATABASE_URL", None)
        if database == "sqlite":
            yield _move_on_sqlite(Path(name))
            return
        with running_cluster() as cluster:
            os.environ["DATABASE_URL"] = cluster.url
            yield _move_on_postgresql(cluster.url)
            _connection().close()


def _connection() -> Any:
    import django
    from django.db import connection

    django.setup()
    return connection


def _move_on_sqlite(folder: Path) -> Callable[[str], None]:
    connection = _connection()
    options = connection.settings_dict["OPTIONS"]
    options["init_command"] = options["init_command"].replace("synchronous=FULL", "synchronous=OFF")
    base = folder / "shop.sqlite3"

    def move(copy: str) -> None:
        connection.close()
        place = folder / f"{copy}.sqlite3" if copy else base
        if copy:
            shutil.copyfile(base, place)
        connection.settings_dict["NAME"] = str(place)

    return move


def _move_on_postgresql(url: str) -> Callable[[str], None]:
    import psycopg

    connection = _connection()
    base = connection.settings_dict["NAME"]

    def move(copy: str) -> None:
        connection.close()
        if copy:
            with psycopg.connect(url.rpartition("/")[0] + "/postgres", autocommit=True) as server:
                server.execute(f'DROP DATABASE IF EXISTS "{copy}"')
                server.execute(f'CREATE DATABASE "{copy}" TEMPLATE "{base}"')
        connection.settings_dict["NAME"] = copy or base

    return move


def one_way_up(rows: int, seed: int, at_once: int = 1) -> list[str]:
    """One shop through all states, filled in each."""
    from tests.upgrade.walking import faults_of_tables, fill_every_state, lost, merged

    kept, found = fill_every_state(rows, seed, at_once)
    found += lost(merged([put for _, put in kept]))
    found += faults_of_tables()
    count = sum(len(rows) for _, put in kept for rows in put.values())
    say(f"one way up: {len(kept)} states, {count} rows put in on the way, {len(found)} faults")
    return found


def from_each_state(move: Callable[[str], None], rows: int, seed: int) -> Iterator[str]:
    """A shop for each state, filled there and brought up by the program's own command."""
    from django.core.management import call_command

    from tests.upgrade.filler import Filler
    from tests.upgrade.walking import Walk, faults_of_tables, lost

    walk, count, states = Walk(), 0, 0
    for migration in walk.up():
        apps = walk.state.clone().apps
        move("copy")
        put, troubles = Filler(seed + states).fill(apps, rows)
        call_command("migrate", verbosity=0)
        found = [*troubles, *lost(put), *faults_of_tables(all_filled=False)]
        yield from (f"from {migration}: {one}" for one in found)
        states, count = states + 1, count + sum(len(one) for one in put.values())
        say(f"from {migration}: {sum(len(one) for one in put.values())} rows in {len(put)} tables, {len(found)} faults")
        move("")
    say(f"from each state: {states} states, {count} rows")


def started_by_the_program(back: int, rows: int, seed: int) -> Iterator[str]:
    """A shop as the program had it some migrations ago, started as its people would: by `manage.py start`."""
    from tests.upgrade.filler import Filler
    from tests.upgrade.walking import OURS, Walk, faults_of_tables, lost

    walk = Walk()
    ours = [one for one in walk.plan() if one.app_label in OURS]
    migration = next(islice(walk.up(), len(ours) - back - 1, None))
    put, troubles = Filler(seed).fill(walk.state.apps, rows)
    _connection().close()
    command = [sys.executable, str(ROOT / "manage.py"), "start", "--no-serve"]
    ended = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=600)
    say(f"started from {migration}:", *(f"\n    {line}" for line in ended.stdout.splitlines()))
    found = [*troubles, *lost(put), *faults_of_tables(all_filled=False)]
    if ended.returncode:
        found.append(f"start ended with {ended.returncode}: {ended.stderr[-600:]}")
    yield from (f"started from {migration}: {one}" for one in found)


def in_a_process(database: str, part: str, rows: int, seed: int) -> list[str]:
    """A process stands on one database only, as the framework reads its settings once."""
    command = [sys.executable, "-m", "tests.upgrade.every_state", "--database", database, "--part", part]
    command += ["--rows", str(rows), "--seed", str(seed)]
    ended = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, text=True)
    say(ended.stdout.rstrip())
    return [f"{part}: ended with {ended.returncode}"] if ended.returncode else []


def run(database: str, part: str, rows: int, seed: int) -> int:
    began = time.monotonic()
    if part == "all":
        found = [one for name in list(PARTS)[:3] for one in in_a_process(database, name, rows, seed)]
    else:
        with empty_ground(database) as move:
            found = list(PARTS[part](move, rows, seed))
    for one in found:
        say(one)
    say(f"{database}, {part}: {len(found)} faults in {time.monotonic() - began:.0f} s (seed {seed})")
    return len(found)


PARTS: dict[str, Callable[[Callable[[str], None], int, int], Iterable[str]]] = {
    "one way up": lambda _, rows, seed: one_way_up(rows, seed),
    "each state": from_each_state,
    "started": lambda _, rows, seed: started_by_the_program(BACK, rows, seed),
    "short": lambda _, rows, seed: one_way_up(rows, seed, SHORT_AT_ONCE),
}


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--database", choices=DATABASES, default="sqlite")
    parser.add_argument("--rows", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--part", choices=(*PARTS, "all"), default="all")
    options = parser.parse_args()
    return 1 if run(options.database, options.part, options.rows, options.seed) else 0


if __name__ == "__main__":
    sys.exit(main())
