"""`python3 manage.py verify`"""

import sys
from typing import Any

from django.core.management.base import BaseCommand

from shop.verification import verify


class Command(BaseCommand):
    help = (
        "Derives stock, jobs, bills and numbers again from the ledgers and the log, and says where what is kept differs. "
        "Changes nothing. Ends with the count of differences; exits 1 if there are any."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        differences = 0
        for found in verify():
            differences += len(found.differences)
            self.stdout.write(f"{found.name}: {found.counted} looked at, {len(found.differences)} differences")
            for text in found.differences:
                self.stdout.write(f"    {text}")
        self.stdout.write(f"{differences} differences")
        if differences:
            sys.exit(1)
