"""Kill a shop's database server for good while it is written to, let its standby take over, and count what is missing there.

`python3 -m tests.faults.standby --rounds 20`. On loopback: a primary that waits for its standby's disk with every commit
(`synchronous_standby_names`), two processes that fit, bill, credit and take out through an address that names both servers. Each
round the primary and all its processes get SIGKILL and its folder is thrown away; the standby is promoted; every act that was
acknowledged must be there, and `verify` must find nothing. Then the promoted one gets a new standby.
"""

import argparse
import os
import random
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from statistics import median

import psycopg

from shop.setup.cluster import Cluster, running_cluster
from tests.faults.ground import ROOT, differences, let_go, say, worker_command
from tests.faults.kill_the_server import kill
from tests.faults.kill_while_working import _lost, prepare

WORKERS = 2
LOAD_SECONDS = (1.0, 3.0)
LONGEST_WAIT_SECONDS = 300.0
LOOK_EVERY_SECONDS = 0.1
# A watcher that believes a single refused connection takes over from a server that only restarts.
REFUSALS_BELIEVED = 2


@dataclass
class Worker:
    """`said`: when, what and key of each act that was acknowledged; `broke`: what the others came to."""

    process: "subprocess.Popen[str]"
    said: list[tuple[float, str, str]] = field(default_factory=list)
    broke: list[str] = field(default_factory=list)

    def listen(self) -> None:
        for line in self.process.stdout or ():
            if line.endswith("\n"):
                at, what, key = line.rstrip("\n").split(" ", 2)
                if what == "broke":
                    self.broke.append(key)
                else:
                    self.said.append((float(at), what, key))


@dataclass(frozen=True)
class Round:
    """Seconds since the kill until it was noticed, until the standby took writes, until a worker's first act was acknowledged."""

    acts: int
    noticed: float
    promoted: float
    first_act: float


def address_of(one: Cluster, other: int) -> str:
    """What a shop with a standby has as DATABASE_URL: both servers, and that it wants the one that takes writes."""
    return (
        f"postgres://shop@/shop?host=127.0.0.1,127.0.0.1&port={one.port},{other}"
        "&target_session_attrs=read-write&connect_timeout=3"
    )


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def ask(server: Cluster, sql: str) -> list[tuple[object, ...]]:
    with psycopg.connect(server.url, autocommit=True, connect_timeout=3) as connection:
        found = connection.execute(sql.encode())
        return found.fetchall() if found.description else []


def until(what: str, done: object) -> None:
    end = time.monotonic() + LONGEST_WAIT_SECONDS
    while not done():  # type: ignore[operator]
        if time.monotonic() > end:
            raise RuntimeError(f"waited too long for: {what}")
        time.sleep(0.02)


def new_standby(primary: Cluster, port: int) -> Cluster:
    """A copy of the primary that follows it; from then on no commit counts before it is on the standby's disk, too."""
    standby = Cluster(primary.place, primary.empty_folder(), port)
    source = ["-h", "127.0.0.1", "-p", primary.port, "-U", "shop"]
    standby.run("pg_basebackup", "-D", standby.folder / "data", "-R", "-X", "stream", "-c", "fast", *source)
    standby.start()
    ask(primary, "ALTER SYSTEM SET synchronous_standby_names = '*'")
    ask(primary, "SELECT pg_reload_conf()")
    until("the standby to follow", lambda: ask(primary, "SELECT 1 FROM pg_stat_replication WHERE sync_state = 'sync'"))
    return standby


def notice(primary: Cluster) -> None:
    """As a watcher on another machine would: it asks again and again."""
    refused = 0
    while refused < REFUSALS_BELIEVED:
        try:
            ask(primary, "SELECT 1")
            refused = 0
        except psycopg.OperationalError:
            refused += 1
        time.sleep(LOOK_EVERY_SECONDS)


def one_round(primary: Cluster, standby: Cluster, workers: list[Worker], rng: random.Random) -> Round:
    before = sum(len(one.said) for one in workers)
    time.sleep(rng.uniform(*LOAD_SECONDS))
    until("acts under load", lambda: sum(len(one.said) for one in workers) >= before + 4)
    at = time.time()
    kill(primary)
    notice(primary)
    noticed = time.time() - at
    standby.run("pg_ctl", "-D", standby.folder / "data", "-w", "promote")
    promoted = time.time() - at
    until("an act after it", lambda: any(_since(one, at + noticed) for one in workers))
    first = min(when for one in workers for when in _since(one, at + noticed)) - at
    shutil.rmtree(primary.folder, ignore_errors=True)
    return Round(sum(len(one.said) for one in workers) - before, noticed, promoted, first)


def _since(worker: Worker, at: float) -> list[float]:
    return [when for when, _, _ in worker.said if when > at]


@contextmanager
def workers_on(address: str) -> Iterator[list[Worker]]:
    started = []
    for _ in range(WORKERS):
        process = subprocess.Popen(
            worker_command("tests.faults.standby_worker"),
            cwd=ROOT,
            env={**os.environ, "DATABASE_URL": address},
            stdout=subprocess.PIPE,
            text=True,
        )
        started.append(Worker(process))
        threading.Thread(target=started[-1].listen, daemon=True).start()
    try:
        until("the workers to start", lambda: all(one.said for one in started) or any(len(one.broke) > 20 for one in started))
        if not all(one.said for one in started):
            raise RuntimeError(f"the workers can't work: {started[0].broke[-1:]} {started[1].broke[-1:]}")
        yield started
    finally:
        for one in started:
            one.process.kill()
            one.process.wait()


def missing(workers: list[Worker]) -> list[str]:
    """Acknowledged acts that the present server doesn't have. All since the start, whichever server said so."""
    from django.db import connections

    connections.close_all()
    return list(_lost([(what, key) for one in workers for _, what, key in list(one.said)]))


def run(rounds: int, seed: int) -> int:
    """The number of faults found; each is printed."""
    rng, found, made = random.Random(seed), 0, []
    with tempfile.TemporaryDirectory(prefix="shop-faults-") as name, running_cluster(durable=True) as first:
        address = address_of(first, other := free_port())
        os.environ |= {"SHOP_FOLDER": name, "DATABASE_URL": address, "DJANGO_SETTINGS_MODULE": "shop.settings"}
        _migrate()
        primary, port = first, other
        with workers_on(address) as workers:
            for number in range(1, rounds + 1):
                standby = new_standby(primary, port)
                made.append(one_round(primary, standby, workers, rng))
                primary, port = standby, primary.port
                lost = missing(workers)
                found += len(lost)
                say(*(f"round {number}: {one}\n" for one in lost), f"round {number}: {told(made[-1])}, {len(lost)} missing")
        left = differences()
        say(*left, f"verify on the promoted one: {len(left)} differences")
        let_go()
        primary.stop()
        with suppress(OSError):
            shutil.rmtree(primary.folder)
    said = sum(len(one.said) for one in workers)
    say(f"{rounds} times a standby took over, {said} acts acknowledged, {found} of them missing (seed {seed})")
    for what in ("noticed", "promoted", "first_act"):
        took = [getattr(one, what) for one in made]
        say(f"{what.replace('_', ' ')} after the kill: {min(took):.2f} / {median(took):.2f} / {max(took):.2f} s")
    return found + len(left)


def told(one: Round) -> str:
    after = f"noticed {one.noticed:.2f} s, promoted {one.promoted:.2f} s, next act {one.first_act:.2f} s after the kill"
    return f"{one.acts} acts, {after}"


def _migrate() -> None:
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)
    prepare()


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--seed", type=int, default=None)
    options = parser.parse_args()
    seed = random.SystemRandom().randrange(10**6) if options.seed is None else options.seed
    return 1 if run(options.rounds, seed) else 0


if __name__ == "__main__":
    sys.exit(main())
