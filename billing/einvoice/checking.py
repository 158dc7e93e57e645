"""Asks the official rules about a file: schema and EN 16931 schematron, run in a process of their own.

    with Checker() as checker:
        findings = checker.check(xml, "cii")     # empty: nothing to object to

A process that dies or hangs is started anew and asked once more; then, and wherever a rule file or the engine is missing,
`RulesMissing` is raised. "Not checked" never looks like "nothing found".
"""

import json
import queue
import subprocess
import sys
import threading
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from billing.einvoice.rules import RULES, RulesMissing, Syntax, rule_file

ROOT = Path(__file__).resolve().parents[2]
COMMAND = (sys.executable, "-m", "billing.einvoice.worker")
PATIENCE_SECONDS = 60
TRIES = 2
# Whoever asks while another file is looked at waits: one such process at a time is enough for a shop's machine.
_one_at_a_time = threading.Lock()


@dataclass(frozen=True, slots=True)
class Finding:
    """`rule` is the official id (`BR-CO-10`), `schema` or `xml`; `severity` is `fatal` or `warning`."""

    rule: str
    severity: str
    text: str

    @property
    def is_fatal(self) -> bool:
        return self.severity != "warning"


class Checker:
    """One process for many files; one thread at a time."""

    def __init__(self, command: tuple[str, ...] = COMMAND, patience_seconds: float = PATIENCE_SECONDS) -> None:
        self.command, self.patience = command, patience_seconds
        self.starts = 0
        self._process: subprocess.Popen[str] | None = None
        self._lines: queue.SimpleQueue[str] = queue.SimpleQueue()

    def __enter__(self) -> Self:
        for rules in RULES.values():
            rule_file(rules.schema)
            rule_file(rules.schematron)
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.stop()

    def check(self, xml: bytes, syntax: Syntax) -> tuple[Finding, ...]:
        asked = json.dumps({"syntax": syntax, "xml": xml.decode()})
        for _ in range(TRIES):
            answer = self._ask(asked)
            if answer is not None:
                return _findings(answer)
        raise RulesMissing("The rules of EN 16931 gave no answer, twice. Nothing was checked; try again later.")

    def _ask(self, line: str) -> dict[str, Any] | None:
        """None where the process died or took too long; it is gone then."""
        process = self._running()
        try:
            assert process.stdin is not None
            process.stdin.write(line + "\n")
            process.stdin.flush()
            said = self._lines.get(timeout=self.patience)
        except (OSError, queue.Empty):
            said = ""
        if said:
            return json.loads(said)  # type: ignore[no-any-return]
        self.stop()
        return None

    def _running(self) -> "subprocess.Popen[str]":
        if self._process is None:
            self.starts += 1
            pipe, lines = subprocess.PIPE, queue.SimpleQueue[str]()
            # The engine's own chatter on the error channel says nothing that a finding or a fault doesn't.
            process = subprocess.Popen(
                self.command, stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL, text=True, encoding="utf-8", cwd=ROOT
            )
            threading.Thread(target=_listen, args=(process, lines), daemon=True).start()
            self._process, self._lines = process, lines
        return self._process

    def stop(self) -> None:
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.wait()
            assert process.stdin is not None
            # What it never read is flushed at the closing, into a pipe that nobody holds any more.
            with suppress(OSError):
                process.stdin.close()


def _listen(process: "subprocess.Popen[str]", lines: "queue.SimpleQueue[str]") -> None:
    """Hands on each line as it comes; an empty one says that there will be no more."""
    assert process.stdout is not None
    with process.stdout as said:
        for line in said:
            lines.put(line)
    lines.put("")


def _findings(answer: dict[str, Any]) -> tuple[Finding, ...]:
    if "fault" in answer:
        raise RulesMissing(f"The rules of EN 16931 could not be run, so nothing was checked. {answer['fault']}")
    return tuple(Finding(one["rule"], one["severity"], one["text"]) for one in answer["findings"])


def check_once(files: list[tuple[bytes, Syntax]]) -> list[tuple[Finding, ...]]:
    """Findings for a few files, by a process that lives no longer than that."""
    with _one_at_a_time, Checker() as checker:
        return [checker.check(xml, syntax) for xml, syntax in files]
