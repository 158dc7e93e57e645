"""The line of the Today page about copies of the shop: for the owner, while the last good one is too old or one went wrong."""

from collections.abc import Sequence

from django.urls import reverse

from shop.backup.standing import Standing, standing
from shop.views.day_lines import Desk, Line
from shop.views.day_ways import Wish


def late_copies(desk: Desk) -> list[Standing]:
    found = standing(desk.at)
    return [found] if desk.terms is not None and (found.is_late or found.trouble) else []


def copy_lines(rows: Sequence[Standing], desk: Desk) -> list[Line]:
    return [_line(one, desk) for one in rows]


def _line(found: Standing, desk: Desk) -> Line:
    ways = desk.ways.of([Wish("Look at the backups", "shop:backups")])
    marks = (("no", "Too old"),) if found.is_late else (("warn", "Trouble"),)
    words = found.trouble.text if found.trouble else "One is made each day while the shop is served; make one now."
    return Line(found.sentence, reverse("shop:backups"), head="Backups", marks=marks, words=words, ways=ways)
