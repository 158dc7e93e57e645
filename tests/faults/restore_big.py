"""A shop of a gigabyte is copied and restored into an empty folder: how long it takes, how much memory, and whether all is there.

    .venv/bin/python -m tests.faults.restore_big --gigabytes 1

Photos are made to weigh, and the ledger of comings and goings is filled. The copy is proven as each one is; `manage.py restore`
then runs in a process of its own, holds the sums against the manifest and verifies. A figure or a photo that differs is a fault.
"""

import argparse
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.faults.ground import ROOT, ground, say

PHOTO_BYTES, ROWS_A_GIGABYTE = 4_000_000, 300_000


def fill(folder: Path, gigabytes: float) -> int:
    """How many photos there are afterwards. They can't be packed, as real ones can't."""
    from shop.clock import now
    from shop.models import AccessEvent, AccessKind
    from tests.faults.every_statement import _billable

    _billable()
    dice, count = random.Random(1), int(gigabytes * 1_000_000_000 / PHOTO_BYTES)
    place = folder / "photos" / "jobs" / "2026"
    place.mkdir(parents=True, exist_ok=True)
    for number in range(count):
        (place / f"{number:05}.jpg").write_bytes(dice.randbytes(PHOTO_BYTES))
    rows = (AccessEvent(kind=AccessKind.SIGNED_IN, at=now(), note=f"{n} " * 20) for n in range(int(gigabytes * ROWS_A_GIGABYTE)))
    AccessEvent.objects.bulk_create(rows, batch_size=5_000)
    return count


def run(gigabytes: float) -> int:
    with ground("sqlite") as here:
        photos = fill(here.folder, gigabytes)
        from shop.backup.copies import ASKED
        from shop.backup.making import Wanted
        from shop.backup.running import back_up
        from shop.clock import now

        began, used = time.monotonic(), time.process_time()
        copy = back_up(Wanted(ASKED, now())).copy
        made = f"copied and proven in {time.monotonic() - began:.0f} s ({time.process_time() - used:.0f} s of CPU)"
        with tempfile.TemporaryDirectory(prefix="shop-restored-", dir=here.folder.parent) as fresh:
            began = time.monotonic()
            command = [sys.executable, "manage.py", "restore", str(copy.folder)]
            surroundings = {**os.environ, "SHOP_FOLDER": fresh, "DATABASE_URL": ""}
            done = subprocess.run(command, cwd=ROOT, env=surroundings, capture_output=True, text=True)
            took, children = time.monotonic() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
            found = list(_wrong(done, photos, Path(fresh)))
    say(*(f"{one}\n" for one in found))
    say(f"{copy.manifest.bytes / 1e9:.2f} GB, {photos} photos, {copy.manifest.sums['shop_accessevent']['rows']} rows: {made};")
    say(f"restored in {took:.0f} s, peak {children.ru_maxrss // 1024} MB, {len(found)} faults")
    return len(found)


def _wrong(done: "subprocess.CompletedProcess[str]", photos: int, fresh: Path) -> list[str]:
    wanted = ("figures of", f"agree; {photos} photos are as they were.", "verify: 0 differences.")
    found = [f"not said: {one}" for one in wanted if one not in done.stdout]
    there = sum(path.stat().st_size == PHOTO_BYTES for path in (fresh / "photos").rglob("*.jpg"))
    found += [f"{there} of {photos} photos are there"] if there != photos else []
    return found + ([done.stdout + done.stderr] if found or done.returncode else [])


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--gigabytes", type=float, default=1.0)
    return 1 if run(parser.parse_args().gigabytes) else 0


if __name__ == "__main__":
    sys.exit(main())
