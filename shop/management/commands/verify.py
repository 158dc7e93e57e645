"""`python3 manage.py verify`"""

import sys
from argparse import ArgumentParser
from datetime import datetime
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.backup.copies import Copy, Proof
from shop.backup.figures import figures_of
from shop.backup.looking import look_at
from shop.backup.troubles import Trouble
from shop.clock import now
from shop.management import ready
from shop.management.progress import shown
from shop.verification import verify

HOURS_A_DAY = 24


class Command(BaseCommand):
    help = (
        "Derives stock, jobs, bills and numbers again from the ledgers and the log, and says where what is kept differs. "
        "Changes nothing. Ends with the count of differences; exits 1 if there are any. With --copy PATH it looks a copy through "
        "instead: restored into a scratch place, its sums held against its manifest; the shop isn't touched."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--copy", metavar="PATH", type=Path, help="a copy's folder or file, or a folder of copies")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["copy"] is not None:
            self._copy(options["copy"].expanduser().resolve(), now())
            return
        differences = 0
        for found in verify():
            differences += len(found.differences)
            self.stdout.write(f"{found.name}: {found.counted} looked at, {len(found.differences)} differences")
            for text in found.differences:
                self.stdout.write(f"    {text}")
        self.stdout.write(f"{differences} differences")
        if differences:
            sys.exit(1)

    def _copy(self, path: Path, at: datetime) -> None:
        try:
            with ready.reachable(), shown("Looking the copy through"):
                copy, proof = look_at(path, at, self.stdout.write)
        except Trouble as trouble:
            raise CommandError(trouble.message) from trouble
        self._tell(copy, proof, at)

    def _tell(self, copy: Copy, proof: Proof, at: datetime) -> None:
        manifest = copy.manifest
        say = self.stdout.write
        say(f"“{manifest.shop}” as it was on {manifest.made_at:%d %B %Y at %H:%M} UTC, {age(manifest.made_at, at)}.")
        for one in figures_of(manifest.sums):
            say(f"  {one.words}: {one.told(manifest.currency)} in the manifest")
        say(f"Looked at: {', '.join(proof.looked_at)}." if proof.looked_at else "Nothing of it could be looked at.")
        for text in proof.remarks:
            say(f"    Remark: {text}.")
        for text in proof.problems:
            say(f"    {text}")
        if proof.problems:
            say(f"{len(proof.problems)} faults: don’t rely on this copy. python3 manage.py restore lists those that there are.")
            sys.exit(1)
        say("The copy restores: all its sums are as they were written, and the shop was not touched. 0 faults")


def age(made_at: datetime, at: datetime) -> str:
    """In hours up to two days, in days then. One from the future tells of a clock that is wrong, now or then."""
    hours = int((at - made_at).total_seconds() // 3600)
    if at < made_at:
        return "which is still to come: the computer’s clock is wrong, or was when the copy was made"
    if hours < 2 * HOURS_A_DAY:
        return "less than an hour ago" if not hours else f"{hours} hours ago" if hours > 1 else "an hour ago"
    return f"{hours // HOURS_A_DAY} days ago"
