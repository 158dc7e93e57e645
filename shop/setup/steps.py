"""The steps of the self-test, and how one is run and judged."""

import os
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ElementTree
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

CODE = ("manage.py", "shop", "inventory", "jobs", "billing", "tests")
CONCISE = ("--output-format", "concise")
LINT_IMPORTS = "from importlinter.cli import lint_imports_command as check; check()"
WORKERS = 2


@dataclass(frozen=True)
class Step:
    """`arguments` go to Python. A step with `tests` counts them; one with `server` needs PostgreSQL."""

    name: str
    heading: str
    arguments: tuple[str, ...]
    tests: bool = False
    server: bool = False


@dataclass(frozen=True)
class Outcome:
    heading: str
    ok: bool
    seconds: float
    passed: int = 0
    failed: int = 0
    note: str = ""

    @property
    def failures(self) -> int:
        """A failed step is at least one failure, whatever its tests say."""
        return self.failed if self.ok else max(1, self.failed)


# Each worker begins with a half of its own, so that what a module makes once is seldom made by both.
PYTEST = ("-m", "pytest", "-n", str(WORKERS), "--dist", "worksteal")
MIGRATIONS = ("manage.py", "makemigrations", "--check", "--dry-run")
STEPS = (
    Step("ruff", "Style and likely mistakes (ruff check)", ("-m", "ruff", "check", *CONCISE, *CODE)),
    Step("format", "Layout of the code (ruff format)", ("-m", "ruff", "format", "--check", *CONCISE, *CODE)),
    Step("mypy", "Types (mypy)", ("-m", "mypy", *CODE)),
    Step("imports", "Which way imports run (import contracts)", ("-c", LINT_IMPORTS)),
    Step("migrations-sqlite", "Migrations match the models, SQLite", MIGRATIONS),
    Step("migrations-postgresql", "Migrations match the models, PostgreSQL", MIGRATIONS, server=True),
    Step("tests-sqlite", "Tests on SQLite", PYTEST, tests=True),
    Step(
        "tests-postgresql",
        "Tests on PostgreSQL, of all that touches a database",
        (*PYTEST, "--database-only"),
        tests=True,
        server=True,
    ),
)
NAMES = tuple(step.name for step in STEPS)


def run_step(step: Step, root: Path, extra: Sequence[str], surroundings: Mapping[str, str]) -> Outcome:
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="shop-self-test-") as scratch:
        report = Path(scratch) / "report.xml"
        more = (f"--junit-xml={report}", *extra) if step.tests else ()
        command = [sys.executable, *step.arguments, *more]
        # Compiled modules are kept: what each worker and each process of a fault run would compile again is read.
        own = {"SHOP_FOLDER": scratch, "PYTHONDONTWRITEBYTECODE": ""}
        code = subprocess.run(command, cwd=root, env={**os.environ, **surroundings, **own}).returncode
        passed, failed, skipped = _counts(report) if step.tests else (0, 0, 0)
    note = f"{skipped} skipped, which counts as failed" if skipped else ""
    ok = code == 0 and failed + skipped == 0
    return Outcome(step.heading, ok, time.monotonic() - began, passed, failed + skipped, note)


def _counts(report: Path) -> tuple[int, int, int]:
    """Passed, failed and skipped; nothing where the run ended before it could report."""
    try:
        suites = list(ElementTree.parse(report).getroot().iter("testsuite"))
    except (OSError, ElementTree.ParseError):
        return 0, 0, 0
    total, failures, errors, skipped = (
        sum(int(suite.get(name, "0")) for suite in suites) for name in ("tests", "failures", "errors", "skipped")
    )
    failed = failures + errors
    return max(0, total - failed - skipped), failed, skipped
