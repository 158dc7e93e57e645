"""How long a supplier's list of a hundred thousand lines takes: trying it, taking it in, the next with a tenth changed.

Against a bare `executemany` INSERT of the same rows in the same run. Wanted: each at least a third of the bare rate, in less
than 300 MB of memory, which a process of its own measures. SQLite, or the server of DATABASE_URL.

.venv/bin/python -m tests.speed.price_lists
"""

import csv
import json
import random
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from time import perf_counter
from typing import Any

from openpyxl import Workbook

from tests.speed.stock import E24, scratch_database

LINES = 100_000
ROUNDS = 3
WANTED_SHARE, WANTED_MEGABYTES = 1 / 3, 300
HEADINGS = ["Order code", "Description", "Price 1+", "Price 10+", "Price 100+", "Pack of", "Minimum", "Lead days", "Shelf"]


def main() -> None:
    for kind in ("csv", "xlsx"):
        done = subprocess.run([sys.executable, "-m", __spec__.name, kind], capture_output=True, text=True, check=True)
        _show(json.loads(done.stdout.splitlines()[-1]))


def _show(found: dict[str, Any]) -> None:
    bare = found["bare"]
    print(f"  {found['kind']}, {LINES:,} lines, {found['megabytes']:.1f} MB, {found['vendor']}: a bare INSERT takes {bare:.2f} s")
    for name in ("trying", "taking in", "trying the next", "taking the next in"):
        took = found[name]
        print(f"    {name}: {took:.2f} s, {bare / took:.2f} of the bare rate (wanted: {WANTED_SHARE:.2f})")
    print(f"    most memory: {found['memory']:.0f} MB (wanted: below {WANTED_MEGABYTES})")


def rows_of(changed: bool) -> Iterator[list[Any]]:
    """An invented supplier's list; the next one has every tenth price changed, and a fiftieth of its codes are new."""
    chance = random.Random(7)
    for n in range(LINES):
        cents = chance.randrange(3, 900)
        volts, figure = chance.choice((63, 160, 400, 630)), chance.choice(E24)
        code = f"QX{chance.randrange(10**7):07d}-{n}"
        if changed and not n % 50:
            code = f"NW-{n}"
        cents += 1 if changed and not n % 10 else 0
        price = cents / 100
        text = f"Film capacitor {figure} nF {volts} V, 5 %, axial, reel {n % 97}"
        yield [
            code,
            text,
            price,
            round(price * 0.9, 3),
            round(price * 0.8, 3),
            chance.choice((1, 1, 10)),
            1,
            n % 30,
            f"S{n % 400}",
        ]


def _write_file(path: Path, changed: bool) -> None:
    """In a process of its own: writing a workbook takes memory that reading it must not be blamed for."""
    if path.suffix == ".csv":
        with path.open("w", encoding="utf-8", newline="") as handle:
            writer = csv.writer(handle)
            writer.writerow(HEADINGS)
            writer.writerows(rows_of(changed))
        return
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Prices")
    sheet.append(HEADINGS)
    for row in rows_of(changed):
        sheet.append(row)
    book.save(path)


def measure(kind: str) -> dict[str, Any]:
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / f"{name}.{kind}" for name in ("first", "next")]
        for path, changed in zip(paths, (False, True), strict=True):
            subprocess.run([sys.executable, "-m", __spec__.name, str(path), "next" if changed else "first"], check=True)
        with scratch_database() as vendor:
            return {"kind": kind, "vendor": vendor, "megabytes": paths[0].stat().st_size / 1e6, **_measure(paths)}


def _measure(paths: list[Path]) -> dict[str, float]:
    from django.conf import settings
    from django.core.files import File

    from inventory.queries.list_proposals import propose
    from inventory.services import price_lists, waiting_lists
    from shop.clock import now
    from tests.builders import a_staff, a_supplier

    supplier, person = a_supplier(), a_staff()
    settings.WAITING_FOLDER = paths[0].parent / "waiting"
    waiting = []
    for path in paths:
        with path.open("rb") as handle:
            waiting.append(waiting_lists.keep(File(handle, path.name), supplier, person=person, at=now()))  # type: ignore[arg-type]
    layouts = [propose(one.path, one.kind, one.encoding, "GBP", None).layout for one in waiting]
    best: dict[str, float] = {}

    def timed(name: str, work: Callable[[], object]) -> None:
        started = perf_counter()
        work()
        best[name] = min(best.get(name, 1e9), perf_counter() - started)

    for turn in range(ROUNDS):
        for n, name in enumerate(("trying", "trying the next")):
            timed(name, lambda n=n: price_lists.try_list(waiting[n], layouts[n], supplier))  # type: ignore[misc]
            doing = name.replace("trying", "taking") + " in"
            timed(doing, lambda n=n: price_lists.take_list(waiting[n].trial(), person=person, at=now()))  # type: ignore[misc]
        if not turn:
            best["memory"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        _bare(timed)
    return best


def _bare(timed: Callable[[str, Callable[[], object]], None]) -> None:
    """The rows of the first list as they lie in the table, into the emptied table, in one transaction."""
    from django.db import connection, transaction

    names = (
        *("supplier_id", "code", "text", "currency", "breaks", "unit_milli", "pack_size", "least_count", "lead_days"),
        *("is_offered", "price_list_id", "search"),
    )
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {', '.join(names)} FROM inventory_offer")
        rows = [[json.dumps(one) if isinstance(one, list) else one for one in row] for row in cursor.fetchall()][:LINES]
        cursor.execute("DELETE FROM inventory_offer")

    def insert() -> None:
        sql = f"INSERT INTO inventory_offer ({', '.join(names)}) VALUES ({', '.join(['%s'] * len(names))})"
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.executemany(sql, rows)

    timed("bare", insert)
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM inventory_offer")
        cursor.execute("DELETE FROM inventory_pricelist")


if __name__ == "__main__":
    if len(sys.argv) > 2:
        _write_file(Path(sys.argv[1]), sys.argv[2] == "next")
    elif len(sys.argv) > 1:
        print(json.dumps(measure(sys.argv[1])))
    else:
        main()
