import subprocess
import sys
import time
from pathlib import Path

from shop.setup.turn import own_turn

ROOT = Path(__file__).resolve().parents[2]
HOLD = "import sys, time; from pathlib import Path; from shop.setup.turn import own_turn\n"
HOLD += "with own_turn(Path(sys.argv[1])): print('mine', flush=True); time.sleep(float(sys.argv[2]))"


def holder(path: Path, seconds: float) -> subprocess.Popen[str]:
    child = subprocess.Popen([sys.executable, "-c", HOLD, str(path), str(seconds)], cwd=ROOT, stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline() == "mine\n"
    return child


def test_a_second_start_waits_for_the_first(tmp_path: Path) -> None:
    with holder(tmp_path / "turn", 0.6) as first:
        began = time.monotonic()
        with own_turn(tmp_path / "turn"):
            assert time.monotonic() - began > 0.2
        assert first.wait() == 0


def test_a_killed_start_leaves_the_turn_free(tmp_path: Path) -> None:
    with holder(tmp_path / "turn", 60) as first:
        first.kill()
    began = time.monotonic()
    with own_turn(tmp_path / "turn"):
        assert time.monotonic() - began < 5
