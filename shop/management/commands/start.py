"""Set the shop up and serve it; a second start serves what is there."""

import getpass
import sys
from argparse import ArgumentParser
from collections.abc import Callable
from typing import Any

from django.core.management import BaseCommand, CommandError

from shop.acts import Refused
from shop.management import ready, serving, writable
from shop.models import Profile
from shop.profile import OwnerLogin, set_up

BENCHES = 2
# What is asked for: option, question, and an example.
QUESTIONS = (
    ("name", "Name of the shop"),
    ("country", "Country, two letters such as GB or US"),
    ("currency", "Currency, three letters such as GBP or USD"),
    ("login", "Login of the owner"),
    ("password", "Password of the owner, 8 characters or more"),
)
FIELDS = {"name": "name", "country": "country", "currency": "currency", "username": "login", "password": "password"}


class Command(BaseCommand):
    help = "Set up this shop (asking for what isn't given) and serve it; a second start serves what is there."

    def add_arguments(self, parser: ArgumentParser) -> None:
        for option, question in QUESTIONS:
            parser.add_argument(f"--{option}", help=question)
        parser.add_argument("--no-serve", action="store_true", help="set up only")
        serving.add_options(parser)
        ready.add_options(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        answers = {option: options[option] for option, _ in QUESTIONS}
        if not sys.stdin.isatty():
            self._refuse_gaps(answers, without_backup=options["without_backup"])
        ready.migrate(without_backup=options["without_backup"])
        profile = Profile.current()
        if profile is None:
            profile = self._set_up(answers)
            self.stdout.write(f"{profile.name} is set up: {profile.country}, {profile.currency}, {BENCHES} benches.")
            self.stdout.write("The hourly rate, taxes and terms are still to be filled in, under “Owner”.")
        else:
            self.stdout.write(f"{profile.name} is set up already and is used as it is.")
            writable.say_what_hinders(self.stdout.write)
        if not options["no_serve"]:
            bound = serving.listen(options["host"], options["port"], self.stdout.write)
            serving.serve(bound, self.stdout.write, options["processes"])

    def _refuse_gaps(self, answers: dict[str, str | None], *, without_backup: bool) -> None:
        """Without a terminal nothing can be asked, so whatever is missing is named, unless a shop is there already."""
        missing = [f"--{option}" for option, _ in QUESTIONS if not answers[option]]
        if not missing:
            return
        ready.migrate(without_backup=without_backup)
        if Profile.current() is None:
            raise CommandError(f"Nothing can be asked here without a terminal. Give also: {' '.join(missing)}.")

    def _set_up(self, answers: dict[str, str | None]) -> Profile:
        """Ask for what is missing, and once more for what was refused; without a terminal a refusal ends it."""
        while True:
            filled = {option: answers[option] or self._ask(option, question) for option, question in QUESTIONS}
            try:
                login = OwnerLogin(filled["login"], filled["password"])
                with ready.reachable():
                    return set_up(filled["name"], filled["country"], filled["currency"], login, bench_count=BENCHES)
            except Refused as refused:
                option = FIELDS.get(refused.field, "")
                if not sys.stdin.isatty() or not option:
                    raise CommandError(refused.message) from refused
                self.stdout.write(refused.message)
                answers = {**filled, option: None}

    def _ask(self, option: str, question: str) -> str:
        ask: Callable[[str], str] = getpass.getpass if option == "password" else input
        try:
            return ask(f"{question}: ").strip()
        except EOFError as error:
            raise CommandError("The answers ended before everything was asked. Start again.") from error
