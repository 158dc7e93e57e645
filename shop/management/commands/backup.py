"""`python3 manage.py backup`"""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError

from shop.audit import acting
from shop.backup import second_place
from shop.backup.copies import ASKED, Copy
from shop.backup.making import Wanted, megabytes
from shop.backup.running import back_up
from shop.backup.troubles import Trouble
from shop.clock import now
from shop.management import ready
from shop.management.progress import shown


class Command(BaseCommand):
    help = (
        "Copies the whole shop (database, photos, key) while it is in use, proves the copy by restoring it in a scratch place, "
        "and carries it to the second place. Old copies go by the plan on the page Backups."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--to", metavar="DIR", type=Path, help="copy it there as well, and check it there")
        parser.add_argument("--keep", action="store_true", help="never let the plan delete this copy")

    def handle(self, *args: Any, **options: Any) -> None:
        to: Path | None = options["to"]
        if to is not None and not to.is_dir():
            raise CommandError(f"There is no folder {to}. Make it, or put the stick in, then start again.")
        if not ready.is_up_to_date():
            raise CommandError(
                "The tables are of an older form. Serve the shop once, which copies it first and brings them up to date."
            )
        with acting(None, "command backup"), ready.reachable():
            try:
                with shown("Copying the shop"):
                    done = back_up(Wanted(ASKED, now(), kept=options["keep"]))
                self._tell(done.copy)
                if to is not None:
                    copy = second_place.carry(done.copy, to.expanduser().resolve(), is_marked=False)
                    self.stdout.write(f"Copied to {copy.folder} and read back there.")
            except Trouble as trouble:
                raise CommandError(trouble.message) from trouble
        if done.second:
            self.stderr.write(f"But not everything went well: {done.second}")

    def _tell(self, copy: Copy) -> None:
        proof, manifest = copy.proof, copy.manifest
        self.stdout.write(
            f"{copy.folder}: {megabytes(manifest.bytes)}, of which {megabytes(manifest.bytes_new)} are new on the disk."
        )
        if proof:
            self.stdout.write(f"Proven by restoring it: {', '.join(proof.looked_at)}.")
            for remark in proof.remarks:
                self.stdout.write(f"Mind: {remark}.")
