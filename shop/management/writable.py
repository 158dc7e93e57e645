"""Whether the shop can be written to when it is started. If not, it is served all the same, as it can be read, and says so."""

import secrets
import tempfile
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, transaction

from shop.clock import now
from shop.models import ActOnce
from shop.web.hindrances import BUSY, Hindrance, hindrance_of


def what_hinders() -> Hindrance | None:
    """A row is written and taken back, and a file beside the photos; both are gone afterwards."""
    try:
        with transaction.atomic():
            ActOnce.objects.create(act=f"a try {secrets.token_hex(8)}", at=now())
            transaction.set_rollback(True)
        folder = Path(settings.SHOP_FOLDER)
        with tempfile.TemporaryFile(dir=folder) as file:
            file.write(bytes(4096))
            file.flush()
    except (DatabaseError, OSError) as error:
        found = hindrance_of(error)
        if found is None:
            raise
        return None if found is BUSY else found
    return None


def say_what_hinders(say: Callable[[str], None]) -> None:
    found = what_hinders()
    if found is not None:
        say(f"{found.title}: the shop can be looked at, but nothing can be written. {found.do}")
