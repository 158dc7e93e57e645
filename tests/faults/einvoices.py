"""Tell many random invoices and credit notes electronically, and let the official rules and an arithmetic of our own judge.

    .venv/bin/python -m tests.faults.einvoices --count 500

Prints what was drawn and how long it took; any finding, any sum that differs from the frozen rows makes the exit code 1.
The invoices are the same ones for the same seed.
"""

import argparse
import time
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.faults.ground import ground, say

SEED = 20260302
MOST_SHOWN = 20


@dataclass
class Run:
    """What was drawn, what took how long, and what is wrong."""

    counts: "Counter[str]" = field(default_factory=Counter)
    seconds: dict[str, float] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)

    def timed(self, what: str, work: Any, *given: Any) -> Any:
        began = time.perf_counter()
        done = work(*given)
        self.seconds[what] = self.seconds.get(what, 0.0) + time.perf_counter() - began
        return done


def judge(run: Run, paper: Any, checker: Any) -> None:
    from billing.einvoice import cii, ubl
    from billing.einvoice_of import einvoice_of
    from tests.billing import einvoices as made

    told = run.timed("reading the rows", einvoice_of, paper)
    as_ubl = run.timed("writing UBL", ubl.write, told)
    as_cii = run.timed("writing CII", cii.write, told)
    found = [*run.timed("rules on UBL", checker.check, as_ubl, made.ubl_syntax(told))]
    found += run.timed("rules on CII", checker.check, as_cii, "cii")
    read, other = made.read_ubl(as_ubl), made.read_cii(as_cii)
    wrong = [f"{one.rule}: {one.text}" for one in found] + made.faults_of_sums(paper, read)
    run.faults += [f"{paper.number}: {one}" for one in wrong + (["the syntaxes differ"] if read != other else [])]
    run.counts["findings"] += len(found)
    run.counts["files checked"] += 2


def walk(run: Run, count: int, seed_number: int, checker: Any) -> None:
    from shop.clock import now
    from tests.billing import einvoices as made
    from tests.builders import a_job, a_profile, a_staff

    person = a_staff("owner", "owner")
    a_profile(**made.PROFILE)
    job = a_job(person=person)

    @seed(seed_number)
    @settings(max_examples=count, deadline=None, database=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
    @given(drawn=made.papers())
    def one(drawn: Any) -> None:
        invoice = made.write(drawn, job, person, now())
        _count(run, drawn)
        judge(run, invoice, checker)
        for note in made.credit_notes(drawn, invoice, person, now()):
            run.counts["credit notes"] += 1
            judge(run, note, checker)

    one()


def _count(run: Run, drawn: Any) -> None:
    run.counts["invoices"] += 1
    run.counts["lines"] += len(drawn.lines)
    run.counts[f"in {drawn.currency}"] += 1
    run.counts[f"prices {'with' if drawn.include_tax else 'without'} tax, rounded per {drawn.rounding}"] += 1
    run.counts["with a deposit"] += drawn.prepaid_percent > 0
    for category in {line.category or "kept none" for line in drawn.lines}:
        run.counts[f"with category {category}"] += 1


def report(run: Run) -> int:
    for what, number in sorted(run.counts.items()):
        say(f"{number:>7}  {what}")
    for what, seconds in run.seconds.items():
        say(f"{seconds:>7.1f}  s {what}")
    for fault in run.faults[:MOST_SHOWN]:
        say(f"FAULT {fault}")
    say(f"{len(run.faults)} faults")
    return 1 if run.faults else 0


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=500, help="invoices (500)")
    parser.add_argument("--seed", type=int, default=SEED, help="another seed, other invoices")
    asked, run = parser.parse_args(), Run()
    with ground("sqlite"):
        from billing.einvoice.checking import Checker

        with Checker() as checker:
            walk(run, asked.count, asked.seed, checker)
            run.counts["processes for the rules"] = checker.starts
    return report(run)


if __name__ == "__main__":
    raise SystemExit(main())
