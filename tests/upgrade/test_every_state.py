"""The short form of the run through the states of the tables, as its own process; the long one has a command of its own."""

import subprocess
import sys

import pytest

from tests.upgrade.every_state import DATABASES, ROOT


@pytest.mark.parametrize(
    "database",
    [pytest.param(name, marks=[] if name == "sqlite" else [pytest.mark.long, pytest.mark.postgresql]) for name in DATABASES],
)
def test_a_filled_shop_comes_up_to_the_newest_program_with_every_row(database: str) -> None:
    command = [sys.executable, "-m", "tests.upgrade.every_state", "--part", "short", "--rows", "1", "--database", database]
    ended = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=500)
    assert ended.returncode == 0, ended.stdout + ended.stderr
    assert f"{database}, short: 0 faults" in ended.stdout
