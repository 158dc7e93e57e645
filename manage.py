#!/usr/bin/env python3
"""Starts everything, also on a bare machine: `python3 manage.py demo`. Kept old enough for any Python to read and refuse."""

import os
import sys

OLDEST = (3, 11)


def run_command(argv):
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(argv)
    except OSError as error:
        told(error)
    except Exception as error:
        if type(error).__module__ not in ("django.db.utils", "sqlite3"):
            raise
        told(error)


def told(error):
    """What a full disk or a lost database did to a command, in words; anything else stays what it was."""
    from shop.web.hindrances import hindrance_of

    found = hindrance_of(error)
    if found is None:
        raise error
    sys.exit("%s: %s %s (%s)" % (found.title, found.seen, found.do, " ".join(str(error).split())[:300]))  # noqa: UP031


def main():
    if sys.version_info < OLDEST:
        running = ".".join(str(part) for part in sys.version_info[:2])
        sys.stderr.write("This needs Python 3.11 or newer; %s is Python %s.\n" % (sys.executable, running))  # noqa: UP031
        sys.stderr.write("Install a newer Python and start it with that one, for example: python3.11 manage.py demo\n")
        return 1
    sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
    from shop.setup.start import start

    return start(sys.argv, run_command)


if __name__ == "__main__":
    sys.exit(main())
