"""Runs every measurement of this folder, one after another, each in a process of its own.

.venv/bin/python -m tests.speed
"""

import subprocess
import sys
from pathlib import Path

FOLDER = Path(__file__).parent
HOUSE = FOLDER.parents[1]


def subjects() -> list[str]:
    """Names of the modules here that measure something."""
    found = (path for path in FOLDER.glob("*.py") if not path.name.startswith("_"))
    return sorted(path.stem for path in found if "def main(" in path.read_text(encoding="utf-8"))


def main() -> int:
    """0 when every measurement ran through."""
    failed = 0
    for subject in subjects():
        print(f"{subject}:", flush=True)
        failed |= subprocess.run([sys.executable, "-m", f"tests.speed.{subject}"], cwd=HOUSE, check=False).returncode
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
