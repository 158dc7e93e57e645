"""`python3 manage.py speed`"""

import tempfile
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

KINDS = ("lists", "sheet", "pages", "pdf", "acts", "start")


class Command(BaseCommand):
    help = (
        "Makes an invented shop of twenty years and a hundredth of it, and measures the program on both: ratios of processor "
        "time taken in one run, with counts of queries; with `--verbosity 2` also what each act says to the database. Measures "
        "only: it always ends with 0. Your own shop isn't touched."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--scale", type=float, default=0.1, help="1.0: 100,000 jobs, some gigabytes (default: 0.1)")
        parser.add_argument("--keep", type=Path, metavar="DIR", help="keep both shops here, and use those that are there")
        parser.add_argument("--only", metavar="KINDS", default=",".join(KINDS), help=f"some of {', '.join(KINDS)}, with commas")
        parser.add_argument("--pages", metavar="WORDS", default="", help="of lists and pages only those named with one of these")
        parser.add_argument("--quick", action="store_true", help="fewer rounds, and a shop of 1,000 jobs")
        parser.add_argument("--shops", type=Path, nargs=2, metavar="DIR", help="the large shop and the small one, made already")

    def handle(self, *args: Any, **options: Any) -> None:
        only = {word.strip() for word in options["only"].split(",") if word.strip()}
        if only - set(KINDS):
            raise CommandError(f"Nothing is called {', '.join(sorted(only - set(KINDS)))} here. Take some of {', '.join(KINDS)}.")
        scale = 0.01 if options["quick"] else options["scale"]
        if not 0 < scale <= 5:
            raise CommandError(f"The scale {scale:g} isn't between 0 and 5. 1.0 is a shop of 100,000 jobs.")
        with tempfile.TemporaryDirectory(prefix="shop-speed-") as scratch:
            self._measure(options["keep"] or Path(scratch), scale, only, 2 if options["quick"] else 5, options)

    def _measure(self, folder: Path, scale: float, only: set[str], rounds: int, options: dict[str, Any]) -> None:
        from tests.speed.whole_shop.comparing import Line
        from tests.speed.whole_shop.running import measure, papers, shops

        full, small = options["shops"] or shops(folder.resolve(), scale)
        found: list[Line] = []
        words = [word.strip() for word in options["pages"].split(",") if word.strip()]
        for line in measure(Path(full), Path(small), only, rounds, lambda what: None, words):
            found.append(line)
            verdict = {True: "holds", False: "DOESN'T HOLD", None: "-"}[line.holds]
            self.stdout.write(f"{line.what} | {line.measured} | {line.bar or '-'} | {verdict}")
            for one in line.details if options["verbosity"] > 1 else ():
                self.stdout.write(f"    {one}")
            self.stdout.flush()
        if "pdf" in only:
            papers()
        self._sum_up(found)

    def _sum_up(self, found: list[Any]) -> None:
        asked = [line for line in found if line.holds is not None]
        failed = sorted((line for line in asked if not line.holds), key=lambda line: -line.worse)
        self.stdout.write(f"{len(asked) - len(failed)} of {len(asked)} hold.")
        for line in failed:
            self.stdout.write(f"  {line.what}: {line.measured}; {line.bar}")
