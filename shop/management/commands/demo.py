"""The invented shop: load it, run the main job, write its papers, serve it."""

import json
import uuid
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError

from jobs.models import Job
from shop.acts import Refused
from shop.backup.copies import ASKED
from shop.backup.making import Wanted
from shop.backup.running import back_up
from shop.backup.standing import standing
from shop.backup.troubles import Trouble
from shop.clock import now
from shop.demo.main_job import MainJob
from shop.demo.papers import FolderRefused, main_papers, open_folder, write_papers
from shop.demo.people import cast, is_demo, logins
from shop.demo.shop import load, step_count
from shop.management import ready, serving
from shop.management.progress import shown
from shop.models import ActOnce, Customer, Profile, Staff

MAIN_JOB = uuid.uuid5(uuid.NAMESPACE_OID, "the demo's main job")


class Command(BaseCommand):
    help = "Load an invented shop, run one job from the counter to the hand-over, write its papers, and serve it all."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--once", action="store_true", help="don't serve: end with one line of JSON")
        parser.add_argument("--out", metavar="DIR", type=Path, help="folder for the papers (default: in the demo's own)")
        serving.add_options(parser)
        ready.add_options(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        folder = self._folder(options["out"])
        bound = None if options["once"] else serving.listen(options["host"], options["port"], self.stdout.write)
        ready.migrate(without_backup=options["without_backup"])
        with ready.reachable():
            self._load_shop()
            papers = main_papers(self._main_job())
            if bound is not None:
                self._copy()
        address = serving.address_of(bound).rstrip("/") if bound else f"http://localhost:{serving.PORT}"
        paths = self._write(papers, folder, address)
        if bound is None:
            self.stdout.write(json.dumps({**papers.facts(), **paths}))
            return
        self.stdout.write("Sign in as:")
        for login, role, password in logins():
            self.stdout.write(f"  {role:<8} {login:<8} password {password}")
        serving.serve(bound, self.stdout.write, options["processes"])

    def _folder(self, given: Path | None) -> Path:
        try:
            return open_folder((given or settings.SHOP_FOLDER / "papers").expanduser())
        except FolderRefused as refused:
            raise CommandError(str(refused)) from refused

    def _write(self, papers: Any, folder: Path, address: str) -> dict[str, str]:
        try:
            paths = write_papers(papers, folder, address)
        except FolderRefused as refused:
            raise CommandError(str(refused)) from refused
        self.stdout.write(f"Its papers are in {folder}: {', '.join(Path(path).name for path in paths.values())}.")
        return paths

    def _load_shop(self) -> None:
        profile = Profile.current()
        if is_demo():
            self.stdout.write(f"The invented shop “{profile}” is there already and is used as it is.")
            return
        if profile is not None or Staff.objects.exists() or Customer.objects.exists():
            whose = f"the shop “{profile}”" if profile else "data"
            raise CommandError(
                f"This database holds {whose}, so the demo isn't written into it. Let the demo use a folder of its own: "
                "unset SHOP_FOLDER and DATABASE_URL, or point them somewhere empty."
            )
        with shown("Loading the invented shop", step_count()) as progress:
            try:
                load(now(), lambda what: setattr(progress, "done", progress.done + 1))
            except Refused as refused:
                raise CommandError(f"The invented shop couldn't be loaded: {refused.message}") from refused
        self.stdout.write(f"Loaded “{Profile.current()}”: {Job.objects.count()} jobs at every stage, all invented.")

    def _main_job(self) -> Job:
        done = ActOnce.objects.filter(token=MAIN_JOB).first()
        if done is not None:
            self.stdout.write(f"The main job was run before, as job {done.answer}.")
            return Job.objects.get(number=done.answer)
        job = MainJob(cast(), now(), self._say).run()
        ActOnce.objects.create(token=MAIN_JOB, act="demo: main job", answer=job.number, at=now())
        return job

    def _copy(self) -> None:
        """A first proven copy, as a shop that is served has after its first minutes."""
        if standing(now()).newest is not None:
            return
        try:
            with shown("Copying the shop"):
                back_up(Wanted(ASKED, now()))
        except Trouble as trouble:
            self.stderr.write(trouble.message)

    def _say(self, sentence: str) -> None:
        self.stdout.write(f"- {sentence}")
        self.stdout.flush()
