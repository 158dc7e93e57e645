"""Many processes that receive, hold, fit, take out, count, invoice, credit and pay at the same time, on the same jobs and lots.

`python3 -m tests.faults.eight_at_once --processes 8 --acts 1250 --database sqlite` (or `postgresql`). Afterwards every act that
a process was told of must be there once, nothing may be there that nobody was told of, and `verify` must find no difference.
"""

import argparse
import random
import sys
import time
from collections import Counter
from collections.abc import Iterator
from functools import partial

from tests.faults import mixed_worker
from tests.faults.ground import DATABASES, Forked, differences, ground, say

JOBS, LOTS, DRAWERS = 40, 12, 4
Said = list[tuple[str, str, str]]


def furnish() -> None:
    """Jobs on the bench with a wide consent, two kinds of part in some lots, owners and drawers that all hands share."""
    from jobs.models import Stage
    from shop.models import Role
    from tests.builders import a_drawer, a_job, a_lot, a_part, a_profile, a_staff

    a_profile(), a_staff("owner", Role.OWNER)
    parts = (a_part("0.01 µF 630 V"), a_part("220 kΩ 1/2 W", "resistance", "carbon_film"))
    drawers = [a_drawer("S", str(number)) for number in range(DRAWERS)]
    for number in range(LOTS):
        a_lot(parts[number % 2], 30, drawers[number % DRAWERS])
    for _ in range(JOBS):
        a_job(Stage.REPAIRING, with_fit=False, labour_minor=10_000_000)


def at_once(processes: int, acts: int, seed: int) -> Said:
    started = [Forked(partial(mixed_worker.main, number, acts, seed + number)) for number in range(processes)]
    said: Said = []
    for process in started:
        out = process.stdout.read()
        if process.wait():
            said.append(("broken", "process", process.errors().strip()[-500:]))
        said += [tuple(line.split(" ", 2)) for line in out.splitlines()]  # type: ignore[misc]
    return said


def keys_there() -> dict[str, Counter[str]]:
    """What the database holds, by the act that makes it."""
    from billing.models import Invoice, Payment
    from inventory.models import Hold, Lot, Movement
    from jobs.models import LogEntry

    def keys(rows: object, column: str = "pk") -> Counter[str]:
        return Counter(str(key) for key in rows.values_list(column, flat=True))  # type: ignore[attr-defined]

    return {
        "receive": keys(Lot.objects.order_by("pk")[LOTS:]),
        "hold": keys(Hold.objects.all()),
        "let_go": keys(Hold.objects.filter(ended_at__isnull=False)),
        "count": keys(Movement.objects.filter(kind="counted")),
        "fit": keys(LogEntry.objects.filter(kind="fitted")),
        "take_out": keys(LogEntry.objects.filter(kind="taken_out")),
        "invoice": keys(Invoice.objects.filter(kind="invoice"), "number"),
        "credit": keys(Invoice.objects.filter(kind="credit_note"), "number"),
        "pay": keys(Payment.objects.all()),
    }


def faults(said: Said) -> Iterator[str]:
    told: dict[str, Counter[str]] = {}
    for outcome, what, key in said:
        if outcome == "broken":
            yield f"broken: {what} {key}"
        elif outcome == "done" and key != "agreed":
            told.setdefault(what, Counter())[key] += 1
    for what, there in keys_there().items():
        heard = told.get(what, Counter())
        for key in sorted(heard - there):
            yield f"lost: {what} {key} was done and isn't there"
        for key in sorted(there - heard):
            yield f"doubled: {what} {key} is there and nobody was told of it"
    yield from differences()


def run(processes: int, acts: int, database: str, seed: int) -> int:
    with ground(database):
        furnish()
        began = time.monotonic()
        said = at_once(processes, acts, seed)
        seconds = time.monotonic() - began
        found = list(faults(said))
        for fault in found:
            say(fault)
        outcomes = Counter(outcome for outcome, _, _ in said)
        done = Counter(what for outcome, what, _ in said if outcome == "done")
        refused = Counter(f"{what} {key}" for outcome, what, key in said if outcome == "refused")
        say("done:", ", ".join(f"{what} {number}" for what, number in sorted(done.items())))
        say("refused:", ", ".join(f"{what} {number}" for what, number in refused.most_common()) or "none")
        say(
            f"{database}: {processes} processes x {acts} acts in {seconds:.0f} s, {outcomes['done']} done, "
            f"{outcomes['refused']} refused, {len(found)} faults (seed {seed})"
        )
    return len(found)


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--processes", type=int, default=8)
    parser.add_argument("--acts", type=int, default=1250)
    parser.add_argument("--database", choices=DATABASES, default="sqlite")
    parser.add_argument("--seed", type=int, default=None)
    options = parser.parse_args()
    seed = random.SystemRandom().randrange(10**6) if options.seed is None else options.seed
    return 1 if run(options.processes, options.acts, options.database, seed) else 0


if __name__ == "__main__":
    sys.exit(main())
