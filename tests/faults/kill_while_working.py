"""Kill working processes at random moments, then look whether anything that they acknowledged is lost or anything is half done.

`python3 -m tests.faults.kill_while_working --rounds 100` is the long run of 200 kills, on SQLite; the suite makes a short one.
Each round starts two workers that write at the same time, kills both without warning, and checks the whole database.
"""

import argparse
import random
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from tests.faults.ground import Forked, differences, ground
from tests.faults.worker import main as work_without_pause

WORKERS = 2
KILL_AFTER_SECONDS = (0.3, 2.0)
LONGEST_START_SECONDS = 120.0


@dataclass
class Worker:
    """A running worker and what it has acknowledged so far."""

    process: Forked
    said: list[tuple[str, str]] = field(default_factory=list)
    ready: threading.Event = field(default_factory=threading.Event)

    def listen(self) -> None:
        """Only whole lines count: half a line is an act that nobody was told of."""
        for line in self.process.stdout:
            if line.endswith("\n"):
                what, _, key = line.strip().partition(" ")
                self.said.append((what, key))
                self.ready.set()
        self.ready.set()


def start_worker() -> tuple[Worker, threading.Thread]:
    started = Worker(Forked(work_without_pause))
    listener = threading.Thread(target=started.listen, daemon=True)
    listener.start()
    return started, listener


def ready_workers() -> list[tuple[Worker, threading.Thread]]:
    """Workers that have each acknowledged their first act."""
    started = [start_worker() for _ in range(WORKERS)]
    for worker, _ in started:
        if not worker.ready.wait(LONGEST_START_SECONDS) or not worker.said:
            worker.process.kill()
            raise RuntimeError(f"a worker didn't start: {worker.process.errors()}")
    return started


def one_round(rng: random.Random) -> list[tuple[str, str]]:
    """Start the workers, kill each at a moment of its own; gives all that was acknowledged."""
    started = ready_workers()
    for worker, listener in started:
        time.sleep(rng.uniform(*KILL_AFTER_SECONDS))
        worker.process.kill()
        worker.process.wait()
        listener.join()
    return [line for worker, _ in started for line in worker.said]


def faults(said: Sequence[tuple[str, str]]) -> Iterator[str]:
    """Everything that isn't as it must be after a kill, in words."""
    yield from _lost(said)
    yield from _numbers()
    yield from _stock()
    yield from _logs()
    yield from _file()


def _lost(said: Sequence[tuple[str, str]]) -> Iterator[str]:
    from billing.models import Invoice
    from jobs.models import LogEntry

    numbers = set(Invoice.objects.values_list("number", flat=True))
    entries = {str(pk) for pk in LogEntry.objects.values_list("pk", flat=True)}
    for what, key in said:
        there = numbers if what in ("invoiced", "credited") else entries if what in ("fitted", "taken_out") else {key}
        if key not in there:
            yield f"acknowledged and lost: {what} {key}"


def _numbers() -> Iterator[str]:
    from billing.models import Invoice
    from shop.models import NumberSeries

    for counter in NumberSeries.objects.filter(series__in=("R", "C")):
        papers = Invoice.objects.filter(series=counter.series, year=counter.year).order_by("sequence")
        given = list(papers.values_list("sequence", flat=True))
        if given != list(range(1, counter.last + 1)):
            yield f"series {counter.series}: numbers {given[:5]}... don't run from 1 to {counter.last}"


def _stock() -> Iterator[str]:
    from django.db.models import Sum

    from inventory.models import Balance, Movement
    from jobs.models import LogEntry

    sums = {
        (lot, drawer): total
        for lot, drawer, total in Movement.objects.order_by().values_list("lot", "drawer").annotate(Sum("count"))
    }
    kept = {(one.lot_id, one.drawer_id): one.on_hand for one in Balance.objects.all()}
    if {place: count for place, count in kept.items() if count} != {place: count for place, count in sums.items() if count}:
        yield f"balances {kept} aren't the sums of movements {sums}"
    for kind in ("fitted", "taken_out"):
        moved = set(Movement.objects.filter(kind=kind).values_list("pk", flat=True))
        logged = Counter(LogEntry.objects.filter(kind=kind).values_list("movement_id", flat=True))
        if Counter(moved) != logged:
            yield f"{kind}: movements and log entries don't pair off: {moved ^ set(logged)}"


def _logs() -> Iterator[str]:
    from billing.models import PaperKind
    from billing.queries import bill_lines
    from jobs.models import Job
    from jobs.queries.sheet import sheet_of
    from jobs.services.log import profile

    for job in Job.objects.all():
        sheet = sheet_of(job)
        if [entry.seq for entry in sheet.entries] != list(range(1, job.log_seq + 1)):
            yield f"the log of {job} has a gap"
        standing = job.invoices.filter(kind=PaperKind.INVOICE, credit_notes__isnull=True).count()  # type: ignore[attr-defined]
        if job.billed != bool(standing) or standing > 1:
            yield f"{job} says billed={job.billed} and stands on {standing} invoices"
        if job.billed and bill_lines(job, profile(), sheet.placed):
            yield f"{job} is billed and something on it isn't"
        for invoice in job.invoices.all():  # type: ignore[attr-defined]
            if sum(line.net_minor for line in invoice.lines.all()) != invoice.net_minor:
                yield f"{invoice} isn't the sum of its lines"


def _file() -> Iterator[str]:
    from django.db import connection

    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA integrity_check")
        verdict = cursor.fetchone()[0]
    if verdict != "ok":
        yield f"the database file: {verdict}"


def prepare() -> None:
    """What all workers share, made before they start."""
    from shop.models import Role
    from tests.builders import a_drawer, a_model, a_profile, a_staff

    a_profile(), a_staff(), a_staff("owner", Role.OWNER), a_drawer(), a_model()


def run(rounds: int, seed: int) -> int:
    """The number of faults found; each is printed. At the end `verify` counts its differences, too."""
    rng, found, said = random.Random(seed), 0, 0
    with ground("sqlite"):
        prepare()
        for number in range(1, rounds + 1):
            acknowledged = one_round(rng)
            said += len(acknowledged)
            for fault in faults(acknowledged):
                found += 1
                print(f"round {number}: {fault}", flush=True)
            if number % 10 == 0:
                print(f"{number} rounds, {said} acts acknowledged, {found} faults", flush=True)
        left = differences()
        print(*left, f"verify: {len(left)} differences", sep="\n", flush=True)
    found += len(left)
    print(f"{rounds} rounds, {rounds * WORKERS} processes killed, {said} acts acknowledged, {found} faults (seed {seed})")
    return found


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--rounds", type=int, default=100)
    parser.add_argument("--seed", type=int, default=None)
    options = parser.parse_args()
    seed = random.SystemRandom().randrange(10**6) if options.seed is None else options.seed
    return 1 if run(options.rounds, seed) else 0


if __name__ == "__main__":
    sys.exit(main())
