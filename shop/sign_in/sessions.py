"""Sessions in the database, as the framework keeps them. Where the database itself hinders the saving, that is what is told: the
framework would take any error of an update for a session that was deleted meanwhile, and answer as if the browser were wrong.
"""

from django.contrib.sessions.backends import db
from django.contrib.sessions.backends.base import UpdateError
from django.db import DatabaseError


class SessionStore(db.SessionStore):
    """Of the same name as the framework's, since what is sealed in a session names it."""

    def save(self, must_create: bool = False) -> None:
        try:
            super().save(must_create)
        except UpdateError as gone:
            error = gone.__context__
            if isinstance(error, DatabaseError) and error.__cause__ is not None:  # a driver's error stands behind it
                raise error from error.__cause__
            raise
