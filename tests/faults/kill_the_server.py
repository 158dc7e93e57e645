"""Kill the database server under working processes, let it recover, and look whether anything acknowledged is lost or half done.

`python3 -m tests.faults.kill_the_server --rounds 50`. On a PostgreSQL server of its own that waits for the disk as a shop's
would. Each round two processes fit, bill, credit and take out; the server and all its processes get SIGKILL at a random moment.
"""

import argparse
import os
import random
import signal
import sys
import time
from contextlib import suppress
from pathlib import Path

from shop.setup.cluster import Cluster
from tests.faults.ground import differences, ground, say
from tests.faults.kill_while_working import KILL_AFTER_SECONDS, WORKERS, faults, prepare, ready_workers

DIES_WITHIN_SECONDS = 30


def kill(cluster: Cluster) -> None:
    """SIGKILL to the server and to the processes that serve its connections, none of which can tidy up.

    A dead server leaves its lock file. Where nobody collects dead processes, their numbers stay taken and the next start would
    believe the file, so it goes as the server's manual says: once nothing of it lives.
    """
    lock = cluster.folder / "data" / "postmaster.pid"
    first = int(lock.read_text().split()[0])
    pids = [first, *_children(first)]
    for pid in pids:
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
    while any(_lives(pid) for pid in pids):
        time.sleep(0.02)
    lock.unlink(missing_ok=True)


def _state(pid: str) -> list[str]:
    """State and parent of a process; nothing where it is gone."""
    with suppress(OSError):
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[:2]
    return []


def _children(parent: int) -> list[int]:
    everyone = [one.name for one in Path("/proc").iterdir() if one.name.isdecimal()]
    return [int(pid) for pid in everyone if _state(pid)[1:] == [str(parent)]]


def _lives(pid: int) -> bool:
    return _state(str(pid))[:1] not in ([], ["Z"])


def one_round(cluster: Cluster, rng: random.Random) -> list[tuple[str, str]]:
    """Everything that the workers were told before the server died under them."""
    started = ready_workers()
    time.sleep(rng.uniform(*KILL_AFTER_SECONDS))
    kill(cluster)
    for worker, listener in started:
        try:
            worker.process.wait(DIES_WITHIN_SECONDS)
        finally:
            worker.process.kill()
        listener.join()
    return [line for worker, _ in started for line in worker.said]


def run(rounds: int, seed: int) -> int:
    """The number of faults found; each is printed."""
    from django.db import connections

    rng, found, said = random.Random(seed), 0, 0
    with ground("postgresql", durable=True, by_migrations=True) as here:
        assert here.cluster is not None
        prepare()
        for number in range(1, rounds + 1):
            connections.close_all()
            acknowledged = one_round(here.cluster, rng)
            here.cluster.start()
            said += len(acknowledged)
            for fault in faults(acknowledged):
                found += 1
                say(f"round {number}: {fault}")
            if number % 10 == 0:
                say(f"{number} server kills, {said} acts acknowledged, {found} faults")
        left = differences()
        for one in left:
            say(one)
    found += len(left)
    cut_off = rounds * WORKERS
    say(f"{rounds} server kills, {cut_off} processes cut off, {said} acts acknowledged, {found} faults (seed {seed})")
    return found


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--rounds", type=int, default=50)
    parser.add_argument("--seed", type=int, default=None)
    options = parser.parse_args()
    seed = random.SystemRandom().randrange(10**6) if options.seed is None else options.seed
    return 1 if run(options.rounds, seed) else 0


if __name__ == "__main__":
    sys.exit(main())
