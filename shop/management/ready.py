"""Making the database ready before a command uses it, and refusing one that belongs to something else."""

from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection

from shop.archive.moving import moved_elsewhere
from shop.backup.copies import BEFORE_TABLES
from shop.backup.making import Wanted
from shop.backup.migrations import to_come
from shop.backup.restoring import finish_earlier, shop_here, tidy
from shop.backup.running import back_up
from shop.backup.troubles import Trouble
from shop.clock import now
from shop.management.progress import shown
from shop.tallies.planner import refresh_planner
from shop.web.hindrances import DAMAGED, DISK, FULL, READ_ONLY, hindrance_of

OURS = {"shop_profile", "django_migrations"}
NO_COPY = (
    "This version of the program must change the shop's tables, and the shop couldn't be copied first. {} The tables are as they "
    "were. Put that right and start again, or go on without a copy by adding --without-backup."
)


def add_options(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--without-backup", action="store_true", help="change the tables of a new version without a copy before it"
    )


@contextmanager
def reachable() -> Iterator[None]:
    """Says in a sentence when the database can't be reached or stays locked."""
    try:
        yield
    except DatabaseError as error:
        said = " ".join(str(error).split())[:300]
        found = hindrance_of(error)
        if found in (FULL, READ_ONLY, DISK, DAMAGED):
            raise CommandError(f"{found.title}: {found.seen} {found.do} ({said})") from error
        raise CommandError(
            f"The database can't be used: {said}. See that it runs, that DATABASE_URL is right and that nobody else holds it, "
            "then start again."
        ) from error


def is_up_to_date() -> bool:
    with reachable():
        return not to_come()


def migrate(*, to_move_into: bool = False, without_backup: bool = False) -> None:
    """Bring the tables up to date, with a proven copy of the shop before. Left alone is a database that holds other tables than
    ours, or that the shop was moved from (unless it is `to_move_into` it again).
    """
    with reachable():
        _end_a_restore()
    if not to_move_into and (left := moved_elsewhere(connection.settings_dict)):
        raise CommandError(left)
    with reachable():
        tables = set(connection.introspection.table_names())
        if tables and not tables & OURS:
            raise CommandError(
                "This database holds the tables of something else, so nothing was written to it. "
                "Give DATABASE_URL an empty database, or leave it unset."
            )
        plan = to_come()
        if plan:
            if not without_backup and shop_here():
                _copy_first(plan)
            with shown("Making the tables", len(plan)):
                call_command("migrate", verbosity=0, interactive=False)
        tidy(settings.SHOP_FOLDER, now())


def _end_a_restore() -> None:
    try:
        finish_earlier(settings.SHOP_FOLDER)
    except Trouble as trouble:
        raise CommandError(trouble.message) from trouble
        refresh_planner()


def _copy_first(plan: list[str]) -> None:
    """The change is tried on the copy, too: its proof brings the restored tables up to date."""
    try:
        with shown("Copying the shop before its tables are changed"):
            back_up(Wanted(BEFORE_TABLES, now(), before=tuple(plan)))
    except Trouble as trouble:
        raise CommandError(NO_COPY.format(trouble.message)) from trouble
