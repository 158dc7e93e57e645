"""Kills `restore` at every step: afterwards the old shop stands whole, or the restored one, and a second restore ends well.

    .venv/bin/python -m tests.faults.kill_while_restoring [--database postgresql] [--every N] [--verify-every N]

A step is whatever is asked of the database or its tools, and every file that is written, moved, made or taken away. Each time a
process of its own restores a copy over another shop and gets SIGKILL there. The next start must end what was begun; then tables,
photos and key must all be the one shop's or all the other's, and after a second restore nothing may be left lying about.
"""

import argparse
import hashlib
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from tests.faults.every_statement import Snapshots
from tests.faults.ground import DATABASES, counted_in_a_child, differences, ground, let_go, say

STEPS = frozenset({"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link", "shutil.copyfile", "subprocess.Popen"})
# Written by restoring itself: that it was done, and who must sign in again.
NOT_COMPARED = frozenset({"django_session", "shop_signedin", "shop_accessevent", "shop_auditentry", "sqlite_sequence"})
LEFTOVERS = ("restoring-*", "restore*.json", "*.new", "backups/proof-*", "backups/*.part")


@dataclass(frozen=True)
class Shop:
    """What tells two shops apart: figures of all tables, photos by content, the key."""

    figures: dict[str, dict[str, int]]
    photos: dict[str, str]
    key: str


@dataclass
class Told:
    steps: int = 0
    deaths: int = 0
    old: int = 0
    new: int = 0


class Stage:
    """The shop as it was before the restore, to be put back: its folder and its database."""

    def __init__(self, folder: Path, url: str, aside: Path) -> None:
        self.folder, self.kept = folder, aside / "folder"
        self.database = Snapshots(url, folder) if url else None

    def keep(self) -> None:
        let_go()
        shutil.copytree(self.folder, self.kept)
        if self.database:
            self.database.keep()

    def put_back(self) -> None:
        let_go()
        for path in self.folder.iterdir():
            shutil.rmtree(path) if path.is_dir() else path.unlink()
        shutil.copytree(self.kept, self.folder, dirs_exist_ok=True)
        if self.database:
            self.database.put_back()


def shop_in(folder: Path) -> Shop:
    from django.db import connection

    from shop.backup.sums import sums_of

    def ask(query: str) -> list[tuple[Any, ...]]:
        with connection.cursor() as cursor:
            return list(cursor.execute(query).fetchall())

    figures = {name: one for name, one in sums_of(ask, connection.vendor).items() if name not in NOT_COMPARED}
    files = (path for path in (folder / "photos").rglob("*") if path.is_file())
    photos = {path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}
    return Shop(figures, photos, (folder / "secret.key").read_text())


def in_a_child(copy: Path, at: Any, step: int | None) -> int | None:
    """How many steps a restore has; None where it died."""
    return counted_in_a_child("the restore", lambda: _restored(copy, at, step))


class Dying:
    def __init__(self, step: int | None) -> None:
        self.step, self.now, self.is_on = step, 0, True

    def pass_by(self) -> None:
        if self.is_on and self.now == self.step:
            os.kill(os.getpid(), signal.SIGKILL)
        self.now += self.is_on

    def audit(self, event: str, args: tuple[Any, ...]) -> None:
        writes = event == "open" and isinstance(args[2], int) and args[2] & (os.O_WRONLY | os.O_RDWR)
        if event in STEPS or writes:
            self.pass_by()

    def statement(self, execute: Any, *words: Any) -> Any:
        self.pass_by()
        answer = execute(*words)
        self.pass_by()
        return answer

    def around(self, done: Callable[..., Any]) -> Callable[..., Any]:
        return lambda *args, **kwargs: self.statement(lambda: done(*args, **kwargs))


def _restored(copy: Path, at: Any, step: int | None) -> int:
    """Restores, dying at that step; gives how many there are. What other programs prove of it is left out."""
    import psycopg
    from django.db import connection

    from shop.backup import one_transaction, scratch
    from shop.backup.restoring import restore

    dying = Dying(step)
    scratch.run = lambda *words: scratch.Ran(0, "0 differences", "")  # type: ignore[assignment]
    psycopg.Connection.execute = dying.around(psycopg.Connection.execute)  # type: ignore[method-assign]
    one_transaction._tell = dying.around(one_transaction._tell)
    sys.addaudithook(dying.audit)
    with connection.execute_wrapper(dying.statement):
        restore(copy, replace=True, at=at, say=lambda text: None)
    dying.is_on = False
    return dying.now


def next_start(at: Any) -> None:
    """What `serve` does before it serves."""
    from django.conf import settings

    from shop.backup.restoring import finish_earlier, tidy

    let_go()
    finish_earlier(settings.SHOP_FOLDER)
    tidy(settings.SHOP_FOLDER, at)


def faults_at(step: int, copy: Path, shops: tuple[Shop, Shop], told: Told, verifying: bool) -> Iterator[str]:
    from django.conf import settings

    from shop.clock import now

    old, new = shops
    at = now()
    if in_a_child(copy, at, step) is not None:
        yield "didn't die"
        return
    told.deaths += 1
    next_start(at)
    there = shop_in(settings.SHOP_FOLDER)
    told.old, told.new = told.old + (there == old), told.new + (there == new)
    if there not in shops:
        yield f"neither the one shop nor the other: {_apart(there, old, new)}"
    if verifying:
        yield from differences()
    in_a_child(copy, at + timedelta(minutes=1), None)
    if (again := shop_in(settings.SHOP_FOLDER)) != new:
        yield f"restored again, and it isn't the copy's: {_apart(again, old, new)}"
    yield from (f"left over: {path.name}" for ending in LEFTOVERS for path in settings.SHOP_FOLDER.glob(ending))


def _apart(there: Shop, old: Shop, new: Shop) -> str:
    return ", ".join(
        f"{what}: {'old' if one == getattr(old, what) else 'new' if one == getattr(new, what) else 'neither'}"
        for what, one in (("figures", there.figures), ("photos", there.photos), ("key", there.key))
    )


def two_shops(folder: Path, aside: Path) -> tuple[Path, Shop, Shop]:
    """A copy, the shop as it was then, and what it has become since, with another key."""
    from jobs.models import Stage as Where
    from shop.backup.running import back_up
    from shop.clock import now
    from tests.builders import a_fit, a_job, an_invoice, some_work
    from tests.faults.backups import a_new_photo
    from tests.faults.every_statement import _furnished

    _furnished()
    job = a_job(Where.REPAIRING, with_fit=False, labour_minor=10_000_000)
    a_new_photo(job, 1), a_fit(job), some_work(job)
    copied = back_up(_asked(now())).copy
    copy = Path(shutil.copytree(copied.folder, aside / copied.name))
    new = shop_in(folder)
    shutil.rmtree(folder / "backups")
    an_invoice(job), a_new_photo(a_job(Where.TAKEN_IN), 2)
    (folder / "secret.key").write_text("another key, made on this machine")
    return copy, shop_in(folder), new


def _asked(at: Any) -> Any:
    from shop.backup.copies import ASKED
    from shop.backup.making import Wanted

    return Wanted(ASKED, at)


def run(database: str, every: int, verify_every: int) -> int:
    found, began, told = list[str](), time.monotonic(), Told()
    with ground(database) as here, tempfile.TemporaryDirectory(prefix="shop-copies-") as name:
        copy, old, new = two_shops(here.folder, Path(name))
        stage = Stage(here.folder, here.cluster.url if here.cluster else "", Path(name))
        stage.keep()
        from shop.clock import now

        told.steps = in_a_child(copy, now(), None) or 0
        for step in range(every // 2, told.steps, every):
            stage.put_back()
            verifying = step % verify_every == 0
            found += [f"dead at {step} of {told.steps}: {one}" for one in faults_at(step, copy, (old, new), told, verifying)]
    say(*(f"{one}\n" for one in found))
    stood = f"{told.old} times the old shop stood, {told.new} times the restored one"
    say(f"{database}: {told.steps} steps, {told.deaths} deaths, {stood}, {len(found)} faults ({time.monotonic() - began:.0f} s)")
    return len(found)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--database", choices=DATABASES, default="sqlite")
    parser.add_argument("--every", type=int, default=1, help="die at each of so many steps only")
    parser.add_argument("--verify-every", type=int, default=20, help="verify the whole shop after each of so many deaths")
    options = parser.parse_args()
    return 1 if run(options.database, options.every, options.verify_every) else 0


if __name__ == "__main__":
    sys.exit(main())
