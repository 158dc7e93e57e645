"""Writing tallies down, finding them, and clearing away what is no longer wanted."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db import transaction

from shop.models import Tally, TallyLeaf
from shop.tallies.counting import Counting, Line, Question, Sums, asked
from shop.tallies.moment import at_one_moment

LINES_A_LEAF = 50
LEAVES_AT_ONCE = 200
# Other questions than the usual ones, such as a kind of parts or a day, are kept as long as they are among the newest.
QUESTIONS_KEPT = 12
# A day, and the hour that a round of many counts may take.
GOOD_FOR = timedelta(hours=25)


def kept(page: str, question: Question) -> Tally | None:
    return Tally.objects.filter(page=page, question=asked(question), is_whole=True).order_by("-pk").first()


def leaf_lines(tally: Tally, number: int) -> list[Line] | None:
    """None where a newer count took this one's place meanwhile."""
    return TallyLeaf.objects.filter(tally=tally, number=number).values_list("lines", flat=True).first()


def lines_between(tally: Tally, start: int, stop: int) -> list[Line]:
    """By their place in the whole list, the first being 0. One query."""
    first, last = start // LINES_A_LEAF + 1, -(-stop // LINES_A_LEAF)
    leaves = TallyLeaf.objects.filter(tally=tally, number__range=(first, last)).order_by("number")
    lines = [line for leaf in leaves.values_list("lines", flat=True) for line in leaf]
    skipped = start - (first - 1) * LINES_A_LEAF
    return lines[skipped : skipped + stop - start]


def leaves_of(tally: Tally) -> int:
    return max(1, -(-tally.line_count // LINES_A_LEAF))


def count_anew(counting: Counting, question: Question, at: datetime) -> Tally:
    """Counts and keeps. Nothing is locked while counting; writing takes short transactions."""
    sums = at_one_moment(lambda: counting.count(question, at))
    return keep(counting.page, question, sums, at)


def keep(page: str, question: Question, sums: Sums, at: datetime) -> Tally:
    facts = {"figures": sums.figures, "line_count": len(sums.lines), "counted_at": at}
    tally = Tally.objects.create(page=page, question=asked(question), **facts)
    for some in _some_at_a_time(tally, sums):
        TallyLeaf.objects.bulk_create(some)
    with transaction.atomic():
        Tally.objects.filter(pk=tally.pk).update(is_whole=True)
        _clear(page, at)
    tally.is_whole = True
    return tally


def _some_at_a_time(tally: Tally, sums: Sums) -> Iterator[list[TallyLeaf]]:
    starts = range(0, len(sums.lines), LINES_A_LEAF)
    leaves = [TallyLeaf(tally=tally, number=n, lines=list(sums.lines[i : i + LINES_A_LEAF])) for n, i in enumerate(starts, 1)]
    for first in range(0, len(leaves), LEAVES_AT_ONCE):
        yield leaves[first : first + LEAVES_AT_ONCE]


def _clear(page: str, at: datetime) -> None:
    """Earlier answers go, then the oldest questions beyond the number kept, and what was left half written long ago."""
    seen: set[str] = set()
    gone = []
    for pk, question in Tally.objects.filter(page=page, is_whole=True).order_by("-pk").values_list("pk", "question"):
        if question in seen or len(seen) == QUESTIONS_KEPT:
            gone.append(pk)
        seen.add(question) if len(seen) < QUESTIONS_KEPT else None
    half = Tally.objects.filter(page=page, is_whole=False, counted_at__lt=at - GOOD_FOR)
    Tally.objects.filter(pk__in=[*gone, *half.values_list("pk", flat=True)]).delete()
