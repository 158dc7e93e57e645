"""`python3 manage.py let_in`"""

import getpass
import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management import BaseCommand, CommandError
from django.db import transaction

from shop.acts import Refused
from shop.audit import acting
from shop.clock import now
from shop.management import ready
from shop.models import Staff
from shop.profile import give_password
from shop.sign_in.factor import has_factor, remove_factor
from shop.sign_in.throttle import let_in


class Command(BaseCommand):
    help = (
        "Lets somebody of the shop in again who can't sign in any more, at the shop's own computer: ends their being shut out, "
        "and on demand gives a new password and removes a second factor whose telephone and codes are lost. Told among the "
        "comings and goings. Whoever may run this may read the shop's books anyway."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="the name to sign in with")
        parser.add_argument("--new-password", action="store_true", help="ask for a new password, twice")
        parser.add_argument("--without-second-factor", action="store_true", help="remove the second factor and its codes")

    def handle(self, *args: Any, **options: Any) -> None:
        if not ready.is_up_to_date():
            raise CommandError("The tables are of an older form. Serve the shop once, which brings them up to date.")
        with acting(None, "command let_in"), ready.reachable():
            person = _who(options["name"])
            password = self._new_password() if options["new_password"] else ""
            try:
                with transaction.atomic():
                    if password:
                        give_password(person, password, by=None, at=now())
                    if options["without_second_factor"]:
                        remove_factor(person, by=None, at=now())
                    let_in(person, by=None, at=now())
            except Refused as refused:
                raise CommandError(refused.message) from refused
            self._tell(person, is_new=bool(password), removed=options["without_second_factor"])

    def _new_password(self) -> str:
        """Never taken from the command line, where others on the computer could read it."""
        if not sys.stdin.isatty():
            raise CommandError("A new password is asked for at a terminal, and there is none here. Start this in one.")
        typed = getpass.getpass("New password: ")
        if getpass.getpass("Once more: ") != typed:
            raise CommandError("The two weren't the same. Nothing was changed; start again.")
        return typed

    def _tell(self, person: Staff, *, is_new: bool, removed: bool) -> None:
        if is_new:
            self.stdout.write(f"{person} has a new password, is signed out everywhere, and their calendar links have ended.")
        if removed:
            self.stdout.write("The second factor is removed. Set up a new one under “Yours” after signing in.")
        self.stdout.write(f"{person} isn't shut out any more.")
        if not person.is_active:
            self.stdout.write("But their card says that they may not sign in: an owner changes that under “Staff”.")
        elif not removed and has_factor(person):
            self.stdout.write("The second factor is still asked for; --without-second-factor removes it.")


def _who(name: str) -> Staff:
    found = Staff.objects.filter(username=name).first()
    if found is None:
        known = ", ".join(Staff.objects.filter(is_active=True).order_by("username").values_list("username", flat=True))
        raise CommandError(f"Nobody here signs in as “{name}”. " + (f"Those who do: {known}." if known else "Nobody does yet."))
    return found
