"""`python3 manage.py ask`"""

import sys
from argparse import RawDescriptionHelpFormatter
from typing import Any

from django.core.management.base import BaseCommand, CommandParser, DjangoHelpFormatter

from shop.asking.door import serve
from shop.asking.manual import manual


class _AsWritten(DjangoHelpFormatter, RawDescriptionHelpFormatter):
    """Keeps the lines of the manual as they are."""


class Command(BaseCommand):
    help = (
        "Answers questions of other programs: one JSON object a line on standard input, one a line on standard output, in the "
        "same order. Touches no database. Ends with 0 when the input ends, also where single lines were refused."
    )
    requires_system_checks = ()

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        # a console that lacks the ohm sign gets a stand-in for it, not an error
        if hasattr(sys.stdout, "reconfigure"):
            sys.stdout.reconfigure(errors="backslashreplace")
        return super().create_parser(prog_name, subcommand, epilog=manual(), formatter_class=_AsWritten, **kwargs)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            serve(sys.stdin.buffer, sys.stdout.buffer)
        except BrokenPipeError:
            # whoever listened has gone: nobody is left to answer
            sys.stdout = None  # type: ignore[assignment]
