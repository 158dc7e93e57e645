"""`python3 manage.py selftest`: everything that must hold, on both databases, in one go."""

import argparse
import signal
import time
from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

from shop.setup import programs
from shop.setup.cluster import scratch_cluster
from shop.setup.console import Problem
from shop.setup.steps import NAMES, STEPS, Outcome, Step, run_step

WITHOUT_PROGRAMS = "not browser and not postgresql and not ngspice"


@dataclass(frozen=True)
class Options:
    quick: bool
    only: tuple[str, ...]
    extra: tuple[str, ...]

    @property
    def is_partial(self) -> bool:
        return self.quick or bool(self.only or self.extra)

    @property
    def steps(self) -> tuple[Step, ...]:
        chosen = (step for step in STEPS if not self.only or step.name in self.only)
        return tuple(step for step in chosen if not (self.quick and step.server))

    @property
    def needs_programs(self) -> bool:
        return not self.quick and any(step.tests or step.server for step in self.steps)

    @property
    def for_pytest(self) -> tuple[str, ...]:
        return ("-m", WITHOUT_PROGRAMS, *self.extra) if self.quick else self.extra


def read_options(arguments: Sequence[str]) -> Options:
    parser = argparse.ArgumentParser(
        prog="manage.py selftest",
        description="Checks style, types, import directions and migrations, and runs all tests on SQLite and on PostgreSQL. "
        "Installs what it needs; as root on Debian also Chromium, PostgreSQL, Poppler and ngspice. "
        "Fails when something can't be had.",
        epilog="What follows -- goes to pytest: manage.py selftest --only tests-sqlite -- -k drawers",
    )
    parser.add_argument("--quick", action="store_true", help="SQLite only, no browser: a help while working")
    parser.add_argument("--only", action="append", choices=NAMES, default=[], metavar="STEP", help=f"one of: {', '.join(NAMES)}")
    own, extra = _split(arguments)
    read = parser.parse_args(own)
    return Options(read.quick, tuple(read.only), extra)


def _split(arguments: Sequence[str]) -> tuple[list[str], tuple[str, ...]]:
    own = list(arguments)
    if "--" not in own:
        return own, ()
    at = own.index("--")
    return own[:at], tuple(own[at + 1 :])


def run(root: Path, options: Options) -> int:
    """Runs every step, whatever failed before. The last line counts the tests of all runs, and a failed step as failed."""
    _end_tidily()
    if options.is_partial:
        _warn(options)
    began = time.monotonic()
    with ExitStack() as stack:
        outcomes = [_programs(), *_steps(root, options, stack)] if options.needs_programs else _steps(root, options, stack)
    return _summarise(outcomes, options, time.monotonic() - began)


def _end_tidily() -> None:
    """A signal ends the run through `finally`, so that no database server is left behind."""

    def leave(number: int, frame: FrameType | None) -> None:
        raise SystemExit(128 + number)

    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), leave)


def _warn(options: Options) -> None:
    left_out = "PostgreSQL and the browser are left out" if options.quick else "only a part of it runs"
    print(f"\n!!! THIS IS NOT THE FULL SELF-TEST: {left_out}. !!!", flush=True)


def _programs() -> Outcome:
    heading = "Programs that the tests need (Chromium, PostgreSQL, Poppler, ngspice)"
    _head(heading)
    began = time.monotonic()
    missing = programs.get_missing()
    for line in missing:
        print(line)
    return _verdict(Outcome(heading, not missing, time.monotonic() - began, note="; ".join(missing)))


def _steps(root: Path, options: Options, stack: ExitStack) -> list[Outcome]:
    server: dict[str, str] = {}
    return [_one(step, root, options, server, stack) for step in options.steps]


def _one(step: Step, root: Path, options: Options, server: dict[str, str], stack: ExitStack) -> Outcome:
    _head(step.heading)
    try:
        surroundings = _surroundings(step, server, stack)
    except Problem as problem:
        print(problem)
        return _verdict(Outcome(step.heading, False, 0, note="no PostgreSQL"))
    return _verdict(run_step(step, root, options.for_pytest, surroundings))


def _surroundings(step: Step, server: dict[str, str], stack: ExitStack) -> Mapping[str, str]:
    """One database server serves all steps that need it; it starts with the first of them."""
    if step.server and not server:
        server["DATABASE_URL"] = stack.enter_context(scratch_cluster())
    chromium = programs.find_chromium()
    return {"DATABASE_URL": server["DATABASE_URL"] if step.server else "", **({"CHROMIUM": chromium} if chromium else {})}


def _head(heading: str) -> None:
    print(f"\n=== {heading} ===", flush=True)


def _verdict(outcome: Outcome) -> Outcome:
    print(f"--- {_line(outcome)}", flush=True)
    return outcome


def _line(outcome: Outcome) -> str:
    counted = f", {outcome.passed} passed, {outcome.failed} failed" if outcome.passed or outcome.failed else ""
    note = f" ({outcome.note})" if outcome.note else ""
    return f"{'ok    ' if outcome.ok else 'FAILED'} {outcome.seconds:6.1f} s  {outcome.heading}{counted}{note}"


def _summarise(outcomes: Sequence[Outcome], options: Options, seconds: float) -> int:
    print(f"\n=== Summary, {seconds:.0f} s ===")
    for outcome in outcomes:
        print(_line(outcome))
    if options.is_partial:
        _warn(options)
    failed = sum(outcome.failures for outcome in outcomes)
    print(f"{sum(outcome.passed for outcome in outcomes)} passed, {failed} failed", flush=True)
    return 1 if failed else 0
