"""Rows that all tests of a module look at, made once for the module: each test works in a savepoint of their transaction."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.db import transaction
from django.test import override_settings

FAST = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@contextmanager
def filled_once(blocker: Any, photos: Path) -> Iterator[None]:
    """For a fixture of scope module or class, which fills the shop inside; pictures go to `photos`, where tests look for them.

    Every test that runs meanwhile finds these rows: one that wants an empty shop belongs into another module.
    """
    with blocker.unblock(), transaction.atomic():
        with override_settings(MEDIA_ROOT=photos, PASSWORD_HASHERS=FAST):
            yield
        transaction.set_rollback(True)
