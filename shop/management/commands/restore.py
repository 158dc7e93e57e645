"""`python3 manage.py restore`"""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError

from shop.backup.copies import copies_in
from shop.backup.figures import figures_of
from shop.backup.places import own_place
from shop.backup.restoring import Back, restore
from shop.backup.troubles import Trouble
from shop.clock import now
from shop.management import ready


class Command(BaseCommand):
    help = (
        "Brings a shop back from a copy: database, photos and key, on this machine or a fresh one. All is built up and proven "
        "beside the present shop before it is put in its place. Without PATH it lists the copies that there are."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("path", nargs="?", metavar="PATH", type=Path, help="a copy's folder or file, or a folder of copies")
        parser.add_argument(
            "--replace", action="store_true", help="put it in the place of the shop that is here, which is copied and moved aside"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["path"] is None:
            self._list()
            return
        say = lambda text: self._say(text)  # noqa: E731
        try:
            with ready.reachable():
                back = restore(options["path"].expanduser().resolve(), replace=options["replace"], at=now(), say=say)
        except Trouble as trouble:
            raise CommandError(trouble.message) from trouble
        self._tell(back)

    def _say(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()

    def _list(self) -> None:
        copies = copies_in(own_place())
        for copy in copies:
            proven = "proven" if copy.is_good else "found bad" if copy.is_bad else "never proven"
            self.stdout.write(f"{copy.folder}  {proven}, {copy.manifest.why_words}, {copy.manifest.shop}")
        if not copies:
            self.stdout.write(f"There is no copy in {own_place()}.")
        self.stdout.write("Restore one with: python3 manage.py restore PATH")

    def _tell(self, back: Back) -> None:
        manifest = back.copy.manifest
        self._say(f"“{manifest.shop}” is back as it was on {manifest.made_at:%d %B %Y at %H:%M} UTC:")
        for was, found in zip(figures_of(manifest.sums), figures_of(back.sums), strict=True):
            self._say(f"  {was.words}: {was.told(manifest.currency)} in the manifest, {found.told(manifest.currency)} restored")
        count = sum(len(one) for one in manifest.sums.values())
        self._say(f"All {count} figures of {len(manifest.sums)} tables agree; {manifest.photo_count} photos are as they were.")
        if back.changes:
            self._say(f"Its tables were brought up to date: {back.changes} changes.")
        self._say(f"verify: {len(back.differences)} differences" + ("." if not back.differences else ", which the copy had:"))
        for text in back.differences[:20]:
            self._say(f"    {text}")
        if manifest.missing:
            self._say(f"{len(manifest.missing)} photos were missing when the copy was made: {', '.join(manifest.missing[:5])}.")
        if not manifest.has_key:
            self._say(
                "The copy holds no key: set SHOP_SECRET_KEY to what it was, or everybody's second factor has to be set up anew."
            )
        if back.aside:
            self._say(f"The shop that was here lies in {back.aside}. Delete it yourself once you are sure.")
        self._say(f"Kept in {settings.SHOP_FOLDER}. Everybody signs in again. Serve it with: python3 manage.py serve")
