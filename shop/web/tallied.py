"""A page that sums up the whole house: its figures as they were kept, or counted for this look where the shop is small.

    if request.method == "POST":
        return count_now(request, STOCK_VALUE, question)
    found = tallied(request, STOCK_VALUE, question)

`_tallied.html` names the moment and has the button; a shop that is counted at every look shows neither.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import Any

from django.http import HttpRequest, HttpResponse

from shop import long_work
from shop.access import staff_of
from shop.clock import now
from shop.long_work.finding import UNDER_WAY
from shop.models import LongWork, Tally
from shop.tallies import Counting, Line, Question, kept, leaf_lines
from shop.tallies.counting import asked
from shop.tallies.keeping import GOOD_FOR, LINES_A_LEAF, leaves_of, lines_between
from shop.web.leafing import LAST, Leaf, leaf_of
from shop.web.pages import go
from shop.web.press import press
from shop.web.work_line import remember

COUNT = "count_house"
SAID = "It is being counted. The line above says when that is done; then load the page again."


@dataclass(slots=True)
class Tallied:
    """`at` is None for what was counted just now. `leaf` holds the lines of the page asked for, as they were counted."""

    figures: dict[str, Any] = field(default_factory=dict)
    leaf: Leaf = field(default_factory=lambda: Leaf([], 0, 0))
    at: datetime | None = None
    is_counted: bool = True
    is_old: bool = False
    _between: Callable[[int, int], list[Line]] = lambda start, stop: []

    def between(self, start: int, stop: int) -> list[Line]:
        """Lines by their place in the whole list, the first being 0; one query."""
        return self._between(start, stop)

    @property
    def is_kept(self) -> bool:
        return self.at is not None or not self.is_counted


def tallied(request: HttpRequest, counting: Counting, question: Question) -> Tallied:
    """One query whether the shop is small, and two for what was kept; as many as it takes to count a small one."""
    at = now()
    if counting.is_small():
        sums = counting.count(question, at)
        between = lambda start, stop: list(sums.lines[start:stop])  # noqa: E731
        return Tallied(sums.figures, leaf_of(request, sums.lines, LINES_A_LEAF), _between=between)
    for _ in range(2):
        tally = kept(counting.page, question)
        if tally is None:
            return Tallied(is_counted=False)
        leaf = _leaf(request, tally)
        if leaf is not None:
            is_old = at - tally.counted_at > GOOD_FOR
            return Tallied(tally.figures, leaf, tally.counted_at, is_old=is_old, _between=partial(lines_between, tally))
    return Tallied(is_counted=False)


def _leaf(request: HttpRequest, tally: Tally) -> Leaf | None:
    """The page asked for, by its number; what can't be read is the first."""
    if not tally.line_count:
        return Leaf([], 0, 0)
    leaves, word = leaves_of(tally), request.GET.get("page", "")
    number = min(max(int(word), 1), leaves) if word.isascii() and word.isdecimal() and len(word) < 12 else 1
    number = leaves if word == LAST else number
    lines = leaf_lines(tally, number)
    if lines is None:
        return None
    leaf = Leaf(lines, (number - 1) * LINES_A_LEAF + 1, tally.line_count, is_end=number == leaves)
    if number > 1:
        leaf.first, leaf.before = "1", str(number - 1)
    if number < leaves:
        leaf.after, leaf.last = str(number + 1), LAST
    return leaf


def count_now(request: HttpRequest, counting: Counting, question: Question) -> HttpResponse:
    """Begins the count in the background and goes back to the page; what is being counted already is not counted twice."""
    address = request.get_full_path()
    if counting.is_small():
        return go(request, address)
    wanted = {"page": counting.page, "question": asked(question)}
    work = long_work.Asked(COUNT, counting.title, wanted)

    def begin() -> None:
        if not any(one.asked == wanted for one in LongWork.objects.filter(kind=COUNT, state__in=UNDER_WAY)):
            remember(request, long_work.begin(work, person=staff_of(request), at=now(), back=address))

    return press(request, "count the house", begin, address, SAID)
