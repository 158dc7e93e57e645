"""The short run: six processes killed in the middle of fitting and billing."""

import re
import subprocess
import sys

from tests.faults.ground import ROOT


def test_nothing_acknowledged_is_lost_when_the_process_is_killed() -> None:
    command = [sys.executable, "-m", "tests.faults.kill_while_working", "--rounds", "3"]
    ended = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=500)
    told = re.search(r"6 processes killed, (\d+) acts acknowledged, 0 faults", ended.stdout)
    assert told is not None, ended.stdout + ended.stderr
    assert int(told.group(1)) >= 6
    assert ended.returncode == 0
