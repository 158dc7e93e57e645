"""Copies of the shop made while processes fit, bill, credit and take out: each must restore and hold all acknowledged before it.

`python3 -m tests.faults.backups --count 100 --database sqlite` (or `postgresql`). Every copy is restored into a scratch place and
its sums are held against its manifest; every tenth (`--whole-every`) goes through `manage.py restore`, with `verify`.
"""

import argparse
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from tests.faults.ground import DATABASES, ROOT, ground, say
from tests.faults.kill_while_working import Worker, prepare, ready_workers

Said = Sequence[tuple[str, str]]
NUMBERED = ("invoiced", "credited")


def a_new_photo(job: Any, number: int) -> str:
    """Adds a photo as a page would; its file's name."""
    from django.db import OperationalError

    from jobs.services.photos import add_photo
    from shop.clock import now
    from shop.pictures import read_picture
    from tests.builders import a_staff
    from tests.pictures import a_picture

    picture = read_picture(BytesIO(a_picture()), f"{number}.png", 10**7)
    while True:
        # Who waits too long for the others is told so by the page, and sends it again.
        with suppress(OperationalError):
            return str(add_photo(job, picture, person=a_staff(), at=now(), caption=f"photo {number}").image.name)


def make_one() -> Any:
    from shop.backup.copies import ASKED
    from shop.backup.making import Wanted, make
    from shop.backup.places import turn
    from shop.clock import now

    with turn(wait_seconds=60) as place:
        return make(place, Wanted(ASKED, now()))[0]


def faults_of(copy: Any, said: Said, photos: Sequence[str]) -> Iterator[str]:
    """What is wrong with a copy that began once all of `said` was acknowledged."""
    from django.db import connection

    from shop.backup import photos as pictures
    from shop.backup import postgresql, scratch, sqlite_file, sums
    from shop.backup.proving import files_spoilt

    yield from files_spoilt(copy)
    yield from pictures.faults_in(copy.folder)
    yield from (f"stale: {name} isn't in it" for name in photos if not (copy.folder / "photos" / name).is_file())
    server = postgresql.server_of(connection.settings_dict) if connection.vendor == "postgresql" else None
    with scratch.restored(copy, server) as there:
        yield from sums.differences(copy.manifest.sums, sums.sums_of(there.ask, copy.manifest.database))
        yield from _lost(there.ask, said)
        if not there.url:
            with sqlite_file.opened(there.folder / "shop.sqlite3") as file:
                yield from sqlite_file.faults_in(file)


def _lost(ask: Any, said: Said) -> Iterator[str]:
    numbers = {str(row[0]) for row in ask("SELECT number FROM billing_invoice")}
    entries = {str(row[0]) for row in ask("SELECT id FROM jobs_logentry")}
    for what, key in said:
        if what != "ready" and key not in (numbers if what in NUMBERED else entries):
            yield f"stale: {what} {key} was acknowledged before it began and isn't in it"


def restored_wholly(copy: Any) -> Iterator[str]:
    """By the command, into an empty folder and database, as on a fresh machine."""
    import os

    from django.db import connection

    from shop.backup import postgresql

    def run(url: str) -> Iterator[str]:
        with TemporaryDirectory(prefix="shop-restored-") as fresh:
            words = [sys.executable, "manage.py", "restore", str(copy.folder)]
            surroundings = {**os.environ, "SHOP_FOLDER": fresh, "DATABASE_URL": url}
            done = subprocess.run(words, cwd=ROOT, env=surroundings, capture_output=True, text=True)
            if done.returncode or "verify: 0 differences." not in done.stdout:
                yield f"not restored by the command: {(done.stdout + done.stderr)[-600:]}"
            if not all((Path(fresh) / "photos" / one).is_file() for one in _names(copy)):
                yield "restored by the command without its photos"

    if connection.vendor == "sqlite":
        yield from run("")
        return
    with postgresql.scratch_database(postgresql.server_of(connection.settings_dict)) as empty:
        yield from run(empty.url)


def _names(copy: Any) -> list[str]:
    from shop.backup.photos import read_list

    return [name.removeprefix("photos/") for name in read_list(copy.folder)]


def run(count: int, database: str, whole_every: int) -> int:
    found, seconds, acts, photos = 0, [], 0, list[str]()
    with ground(database):
        from jobs.models import Stage
        from tests.builders import a_job

        prepare()
        job = a_job(Stage.TAKEN_IN)
        workers = ready_workers()
        try:
            for number in range(1, count + 1):
                photos.append(a_new_photo(job, number))
                said, began = all_said(workers), time.monotonic()
                copy = make_one()
                seconds.append(time.monotonic() - began)
                acts = len(said)
                if number == count:
                    stop(workers)
                wrong = list(faults_of(copy, said, photos))
                wrong += restored_wholly(copy) if number % whole_every == 0 or number == count else []
                for fault in wrong:
                    found += 1
                    say(f"copy {number}: {fault}")
                if number % 10 == 0:
                    say(f"{number} copies, {acts} acts acknowledged before the last began, {found} faults")
        finally:
            stop(workers)
    say(
        f"{database}: {count} copies made under load, each restored, {acts} acts and {len(photos)} photos acknowledged before "
        f"the last, {found} faults; making one took {min(seconds):.2f} to {max(seconds):.2f} s"
    )
    return found


def stop(workers: Sequence[tuple[Worker, object]]) -> None:
    """They work on until they are killed."""
    for worker, _ in workers:
        worker.process.kill()
        worker.process.wait()


def all_said(workers: Sequence[tuple[Worker, object]]) -> list[tuple[str, str]]:
    return [line for worker, _ in workers for line in list(worker.said)]


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--database", choices=DATABASES, default="sqlite")
    parser.add_argument("--whole-every", type=int, default=10, metavar="N")
    options = parser.parse_args()
    return 1 if run(options.count, options.database, options.whole_every) else 0


if __name__ == "__main__":
    sys.exit(main())
