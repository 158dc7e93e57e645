"""Serve the shop that is there."""

from argparse import ArgumentParser
from typing import Any

from django.core.management import BaseCommand, CommandError

from shop.management import ready, serving, writable
from shop.models import Profile


class Command(BaseCommand):
    help = "Serve the shop that was set up with start or demo."

    def add_arguments(self, parser: ArgumentParser) -> None:
        serving.add_options(parser)
        ready.add_options(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        ready.migrate(without_backup=options["without_backup"])
        profile = Profile.current()
        if profile is None:
            raise CommandError("No shop is set up here yet. Set one up with start, or look at the invented one with demo.")
        bound = serving.listen(options["host"], options["port"], self.stdout.write)
        self.stdout.write(f"{profile.name}")
        writable.say_what_hinders(self.stdout.write)
        serving.serve(bound, self.stdout.write, options["processes"])
