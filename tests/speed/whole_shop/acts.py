"""Acts through their services, against the same writes replayed as bare SQL on a copy of the shop that was made before.

The bare side sends exactly the statements that change rows, with their values, in one transaction an act, through Python's own
library, under the same journal and the same waiting for the disk, triggers included. The service's side reads and judges as well.
"""

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from statistics import median
from time import perf_counter, process_time
from typing import Any

from django.conf import settings
from django.db import connection

from shop.audit import teach_sqlite
from shop.clock import now

WRITES = ("INSERT", "UPDATE", "DELETE")


def measured(rounds: int) -> list[dict[str, Any]]:
    """For each act the medians of both sides in seconds: of the processor, and by the clock with the waits for the disk."""
    if connection.vendor != "sqlite":
        return []
    path = Path(settings.DATABASES["default"]["NAME"])
    connection.close()
    copied = path.with_name("replayed.sqlite3")
    shutil.copyfile(path, copied)
    bare = _opened(copied)
    try:
        return [_act(name, works, bare) for name, works in _acts(rounds).items()]
    finally:
        bare.close()
        copied.unlink()


def _opened(path: Path) -> sqlite3.Connection:
    bare = sqlite3.connect(path, isolation_level=None)
    options = settings.DATABASES["default"]["OPTIONS"]
    bare.executescript(options["init_command"])
    teach_sqlite(bare)
    return bare


def _act(name: str, works: list[Callable[[], Any]], bare: sqlite3.Connection) -> dict[str, Any]:
    ours: list[tuple[float, float]] = []
    theirs: list[tuple[float, float]] = []
    statements: list[tuple[str, Any]] = []
    asked = 0
    for work in works:
        with _heard() as heard:
            ours.append(_times(work))
        asked = len(heard)
        statements = [one for one in heard if one[0].lstrip().startswith(WRITES)]
        theirs.append(_times(lambda: _replay(bare, statements)))  # noqa: B023 - run at once
    cpu, clock = (median(one[at] for one in ours) for at in (0, 1))
    bare_cpu, bare_clock = (median(one[at] for one in theirs) for at in (0, 1))
    return {
        "act": name,
        "rounds": len(ours),
        "cpu": cpu,
        "clock": clock,
        "bare_cpu": bare_cpu,
        "bare_clock": bare_clock,
        "writes": len(statements),
        "queries": asked,
    }


def _times(work: Callable[[], Any]) -> tuple[float, float]:
    cpu, clock = process_time(), perf_counter()
    work()
    return process_time() - cpu, perf_counter() - clock


@contextmanager
def _heard() -> Iterator[list[tuple[str, Any]]]:
    said: list[tuple[str, Any]] = []

    def hear(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        said.append((sql, params))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(hear):
        yield said


def _replay(bare: sqlite3.Connection, statements: list[tuple[str, Any]]) -> None:
    bare.execute("BEGIN IMMEDIATE")
    for sql, params in statements:
        bare.execute(sql.replace("%s", "?").replace("%%", "%"), tuple(params or ()))
    bare.execute("COMMIT")


def _acts(rounds: int) -> dict[str, list[Callable[[], Any]]]:
    """Works by the name of the act; each does it once, at another place."""
    from billing.models import PaymentKind
    from billing.services import Money, issue_invoice, record_payment
    from inventory.models import Balance
    from jobs.models import Job, Position, Stage
    from jobs.services import log
    from shop.models import Staff

    person, at = Staff.objects.get(username="owner"), now()
    author = log.Author(person, at)
    repaired = Job.objects.filter(stage=Stage.REPAIRING).order_by("pk")
    # With their jobs, as pages load them.
    found = Position.objects.select_related("job").filter(job__in=repaired, called__contains="F")
    places, second = list(found.order_by("pk")[: rounds * 2]), _second(person)
    balances = Balance.objects.filter(
        on_hand__gt=20, held=0, lot__part__kind="capacitance", lot__blocked_reason="", lot__owner=None
    )
    stock = list(balances.select_related("lot__part", "drawer").order_by("-pk")[:1])
    billable = [one for one in Job.objects.filter(stage=Stage.READY, billed=False).order_by("pk")[:rounds]]
    bills: list[Any] = []

    def measure(place: Position) -> None:
        log.record_measured(place, "open", author)

    def fit(place: Position) -> None:
        one = stock[0]
        fitting = log.Fit(one.lot, one.drawer, override_reason="measured only", override_by=second, not_charged="measured only")
        log.fit(place, fitting, author)

    def bill(job: Job) -> None:
        bills.append(issue_invoice(job, person=person, at=at + timedelta(minutes=1)))

    def pay(number: int) -> None:
        record_payment(
            bills[number % len(bills)], Money(PaymentKind.PAID, 100, "card"), person=person, at=at + timedelta(minutes=2)
        )

    return {
        "a measurement in the log": [_of(measure, one) for one in places[:rounds]],
        "a part fitted": [_of(fit, one) for one in places[rounds:]],
        "an invoice": [_of(bill, one) for one in billable],
        "a payment": [_of(pay, one) for one in range(rounds)] if billable else [],
    }


def _of(work: Callable[[Any], Any], what: Any) -> Callable[[], Any]:
    return lambda: work(what)


def _second(person: Any) -> Any:
    from shop.models import Staff

    return Staff.objects.exclude(pk=person.pk).filter(role="bench")[0]
