"""Cuts the power at every statement of an act: the process dies before and after each, then all of it is there or nothing.

`python3 -m tests.faults.every_statement --database sqlite` (or `postgresql`), with `--acts fit invoice` for some of them only.
Each time a child process does the act under the same form's token and is killed where it stands, without tidying up. Afterwards
the file is whole, `verify` finds no difference, and the same form sent again ends in exactly one act.
"""

import argparse
import os
import shutil
import signal
import sys
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from tests.faults.ground import DATABASES, counted_in_a_child, differences, ground, say

Work = Callable[[], object]


@dataclass(frozen=True)
class Act:
    """`work` does it, through the services as a page would; `made` counts what it makes."""

    name: str
    work: Work
    made: Callable[[], int]


class Dying:
    """Counts what goes to the database, and dies at one of its moments: even ones lie before a statement, odd ones after it."""

    def __init__(self, moment: int | None) -> None:
        self.moment, self.now = moment, 0

    def __call__(self, execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        self.pass_by()
        answer = execute(sql, params, many, context)
        self.pass_by()
        return answer

    def pass_by(self) -> None:
        if self.now == self.moment:
            os.kill(os.getpid(), signal.SIGKILL)
        self.now += 1

    def around(self, step: Callable[..., Any]) -> Callable[..., Any]:
        """The same for what no statement shows: the end of a transaction."""

        def passed(*args: Any, **kwargs: Any) -> Any:
            self.pass_by()
            answer = step(*args, **kwargs)
            self.pass_by()
            return answer

        return passed


def done_once(act: Act, token: uuid.UUID, moment: int | None) -> int:
    """Do it as a form would, dying at that moment; gives how many moments it has."""
    from django.db import connection

    from shop.acts import once

    dying = Dying(moment)
    connection._commit = dying.around(connection._commit)  # type: ignore[attr-defined]
    with connection.execute_wrapper(dying):
        once(token, act.name, lambda: str(act.work() or "")[:400])
    return dying.now


def in_a_child(act: Act, token: uuid.UUID, moment: int | None) -> int | None:
    """How many moments the act has; None where it died."""
    return counted_in_a_child(act.name, lambda: done_once(act, token, moment))


class Snapshots:
    """The database as it stood before the act, to be put back before each death."""

    def __init__(self, url: str, folder: Path) -> None:
        self.url, self.folder = url, folder
        self.kept = "before"

    def keep(self) -> None:
        from django.db import connection

        connection.close()
        if self.url:
            self._server(f'DROP DATABASE IF EXISTS "{self.kept}"', f'CREATE DATABASE "{self.kept}" TEMPLATE "shop"')
        else:
            shutil.copyfile(self.folder / "shop.sqlite3", self.folder / "before.sqlite3")

    def put_back(self) -> None:
        from django.db import connection

        connection.close()
        if self.url:
            self._server('DROP DATABASE "shop" WITH (FORCE)', f'CREATE DATABASE "shop" TEMPLATE "{self.kept}"')
            return
        for left in self.folder.glob("shop.sqlite3-*"):
            left.unlink()
        shutil.copyfile(self.folder / "before.sqlite3", self.folder / "shop.sqlite3")

    def _server(self, *statements: str) -> None:
        import psycopg

        with psycopg.connect(self.url.rpartition("/")[0] + "/postgres", autocommit=True) as server:
            for one in statements:
                server.execute(one)


def die_everywhere(act: Act, snapshots: Snapshots, every: int, verify_every: int) -> Iterator[str]:
    """Gives every fault; says what it did at the end."""
    began, deaths, there_already = time.monotonic(), 0, 0
    snapshots.keep()
    before = act.made()
    moments = in_a_child(act, uuid.uuid4(), None)
    if not moments or act.made() != before + 1:
        yield f"{act.name}: isn't done even where nothing dies"
        return
    for moment in sorted({*range(0, moments, every), *range(moments - 3, moments)}):
        snapshots.put_back()
        token = uuid.uuid4()
        if in_a_child(act, token, moment) is not None:
            yield f"{act.name}: didn't die at {moment} of {moments}"
            continue
        deaths += 1
        there = act.made() - before
        there_already += there
        full = moment % verify_every == 0 or moment == moments - 1
        yield from (f"{act.name}, dead at {moment} of {moments}: {one}" for one in _wrong(act, token, before, there, full))
    snapshots.put_back()
    say(
        f"{act.name}: {moments} moments, {deaths} deaths, {there_already} of them after the act was through "
        f"({time.monotonic() - began:.0f} s)"
    )


def _wrong(act: Act, token: uuid.UUID, before: int, there: int, full: bool) -> Iterator[str]:
    if there not in (0, 1):
        yield f"the act is there {there} times"
    yield from _file()
    if full:
        yield from differences()
    in_a_child(act, token, None)
    if act.made() != before + 1:
        yield f"sent again, the act is there {act.made() - before} times"
    if full:
        yield from (f"after it was sent again: {one}" for one in differences())


def _file() -> Iterator[str]:
    """Looking also rolls back what the dead process left in the journal."""
    from django.db import connection

    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            for check, good in (("integrity_check", [("ok",)]), ("foreign_key_check", [])):
                found = cursor.execute(f"PRAGMA {check}").fetchall()
                if found != good:
                    yield f"{check}: {found[:3]}"


def _need_not_outlive_the_machine() -> None:
    """A killed process leaves what it wrote to the system, so waiting for the disk would only take time."""
    from django.db import connection

    options = connection.settings_dict["OPTIONS"]
    if connection.vendor == "sqlite":
        options["init_command"] = options["init_command"].replace("synchronous=FULL", "synchronous=OFF")


def acts() -> list[Callable[[], Act]]:
    """Each makes its own ground, then gives its act."""
    return [_log_entry, _fit, _take_out, _invoice, _credit_note, _payment, _receive_order, _hand_over]


def _furnished() -> Any:
    from shop.models import Role
    from tests.builders import a_profile, a_staff

    a_profile()
    return a_staff(), a_staff("owner", Role.OWNER)


def _bench_job(**more: Any) -> Any:
    from jobs.models import Stage
    from tests.builders import a_job

    _furnished()
    return a_job(Stage.REPAIRING, with_fit=False, labour_minor=10_000_000, **more)


def _log_entry() -> Act:
    from jobs.models import LogEntry
    from jobs.services import log
    from tests.builders import author, position_of

    spot = position_of(_bench_job(), "R1")
    return Act("log entry", lambda: log.record_measured(spot, "260K", author()).pk, LogEntry.objects.count)


def _fit() -> Act:
    from inventory.models import Movement
    from tests.builders import a_fit, a_lot

    job, lot = _bench_job(), a_lot()
    return Act("fit", lambda: a_fit(job, "C2", lot).pk, Movement.objects.filter(kind="fitted").count)


def _take_out() -> Act:
    from jobs.models import LogEntry
    from jobs.services import log
    from tests.builders import a_fit, author

    entry = a_fit(_bench_job())
    return Act(
        "take out",
        lambda: log.take_out(entry, "too short", author(), scrap=False).pk,
        LogEntry.objects.filter(kind="taken_out").count,
    )


def _billable() -> Any:
    from tests.builders import a_fit, some_work

    job = _bench_job()
    a_fit(job), some_work(job)
    return job


def _invoice() -> Act:
    from billing.models import Invoice
    from tests.builders import an_invoice

    job = _billable()
    return Act("invoice", lambda: an_invoice(job).number, Invoice.objects.count)


def _credit_note() -> Act:
    from billing.models import Invoice
    from billing.services import credit
    from shop.clock import now
    from tests.builders import an_invoice

    bill, (_, owner) = an_invoice(_billable()), _furnished()
    notes = Invoice.objects.filter(kind="credit_note")
    return Act("credit note", lambda: credit(bill, "billed too early", person=owner, at=now()).number, notes.count)


def _payment() -> Act:
    from billing.models import Payment
    from tests.builders import an_invoice, pay

    bill = an_invoice(_billable())
    return Act("payment", lambda: pay(bill, 1_00), Payment.objects.count)


def _receive_order() -> Act:
    from inventory.models import Lot
    from inventory.services.order_receipts import ArrivedLine, receive_on_order
    from inventory.services.ordering import send_order
    from inventory.services.orders import OrderDraftLine, draft_order
    from shop.clock import now
    from tests.builders import a_drawer, a_part, a_supplier

    person, _ = _furnished()
    at = now() - timedelta(days=1)
    order = draft_order(a_supplier(), [OrderDraftLine(a_part(), count=5, unit_milli=20_000)], person=person, at=at)
    order = send_order(order, person=person, at=at)
    arrived = ArrivedLine(order.lines.get(), 5, a_drawer(), 20_000)  # type: ignore[attr-defined]

    def receive() -> int:
        return receive_on_order(order, [arrived], received_on=now().date(), person=person, at=now())[0].pk

    return Act("receive order", receive, Lot.objects.count)


def _hand_over() -> Act:
    from billing.release import Signature, hand_over
    from jobs.models import HandOver, Stage
    from shop.clock import now
    from tests.builders import a_job, an_invoice, pay

    person, _ = _furnished()
    job = a_job(Stage.READY)
    pay(an_invoice(job))
    job.refresh_from_db()
    return Act(
        "hand over", lambda: hand_over(job, Signature(job.customer.name), person=person, at=now()).pk, HandOver.objects.count
    )


def run(database: str, wanted: list[str], every: int, verify_every: int) -> int:
    found: list[str] = []
    with ground(database) as here, suppress(KeyboardInterrupt):
        url = here.cluster.url if here.cluster else ""
        _need_not_outlive_the_machine()
        snapshots = Snapshots(url, here.folder)
        for make in acts():
            if wanted and make.__name__.strip("_") not in wanted:
                continue
            try:
                found += list(die_everywhere(make(), snapshots, every, verify_every))
            except Exception as error:
                found.append(f"{make.__name__.strip('_')}: {type(error).__name__}: {error}")
        left = differences()
    found += left
    for one in found:
        say(one)
    say(f"{database}: {len(found)} faults, verify: {len(left)} differences")
    return len(found)


def main() -> int:
    names = [one.__name__.strip("_") for one in acts()]
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--database", choices=DATABASES, default="sqlite")
    parser.add_argument("--acts", nargs="*", choices=names, default=[])
    parser.add_argument("--every", type=int, default=1, help="die at each of so many moments only")
    parser.add_argument("--verify-every", type=int, default=1, help="verify the whole shop after each of so many deaths")
    options = parser.parse_args()
    return 1 if run(options.database, options.acts, options.every, options.verify_every) else 0


if __name__ == "__main__":
    sys.exit(main())
