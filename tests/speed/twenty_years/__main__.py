"""Makes an invented shop of twenty years in a folder, or in the database of DATABASE_URL.

.venv/bin/python -m tests.speed.twenty_years --scale 0.01 --folder /tmp/twenty
SHOP_FOLDER=/tmp/twenty .venv/bin/python manage.py serve        # login owner, password as the demo has it
"""

import argparse
import os
import shutil
import sys
import time
from pathlib import Path


def main() -> int:
    asked = _asked()
    folder: Path = asked.folder.resolve()
    if asked.start:
        shutil.copytree(asked.start, folder)
    folder.mkdir(parents=True, exist_ok=True)
    os.environ["SHOP_FOLDER"] = str(folder)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    import django

    django.setup()
    from tests.speed.twenty_years.laying import lay

    began = time.monotonic()

    def say(text: str) -> None:
        print(f"{time.monotonic() - began:7.1f} s  {text}", flush=True)

    lay(asked.scale, asked.seed, say)
    return 0


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.speed.twenty_years", description=__doc__.splitlines()[0] if __doc__ else ""
    )
    parser.add_argument("--scale", type=float, default=0.01, help="1.0: 100,000 jobs (default: 0.01)")
    parser.add_argument("--folder", type=Path, required=True, help="the shop's folder, made where it isn't there")
    parser.add_argument("--start", type=Path, help="folder of a demo that was loaded before; it is copied")
    parser.add_argument("--seed", type=int, default=20)
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
