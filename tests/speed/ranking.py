"""How long it takes to rank the drawers for one position when they hold a hundred thousand lines.

Against the bare SQL: the one statement that fetches every candidate line with what judging and showing need, through a cursor;
and the same statement with only the columns that judging and ordering need, which no page could be drawn from.
Against judging every line of the stock in Python, measured on a share of it and scaled up.
"""

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

from tests.speed.stock import STOCK_LINES, fill_drawers, scratch_database
from tests.speed.timing import best_of

POSITIONS = (("C2", "coupling", ".047 400 V"), ("R1", "plate_load", "220K 1/2W"), ("C7", "bypass", "0.1 400 V"))
JUDGED_SHARE = 50
ROUNDS = 15


def main() -> None:
    with scratch_database() as vendor:
        fill_drawers()
        print(f"{STOCK_LINES:,} stock lines, {vendor}")
        for position in POSITIONS:
            _measure(*position)


def _measure(designator: str, role: str, called: str) -> None:
    from jobs.models import Position
    from jobs.queries.asked import asked_of
    from jobs.queries.candidates import bounds_of, candidates_for
    from jobs.queries.sheet import PositionState

    place = Position(designator=designator, role=role, called=called)
    job: Any = SimpleNamespace(radio=SimpleNamespace(model=SimpleNamespace(supply_kind="transformer")))
    asked = asked_of(PositionState(place, []), job)
    free = _candidate_lines(bounds_of(asked))
    bare = best_of(_bare(free.select_related("lot__part", "lot__supplier", "drawer")), ROUNDS)
    least = best_of(_bare(free.values_list(*_JUDGED)), ROUNDS)
    ranking = best_of(lambda: candidates_for(PositionState(place, []), job), ROUNDS)
    every = _judge_every_line(asked)
    print(f"  {role} {called}, {free.count()} candidate lines: ranking {ranking * 1000:.1f} ms")
    print(f"    {ranking / bare:.1f} times the bare SQL ({bare * 1000:.1f} ms), {ranking / least:.1f} times the fewest columns")
    print(f"    judging every line takes {every:.1f} s: {every / ranking:.0f} times as long")


_JUDGED = (
    *(f"lot__part__{name}" for name in ("kind", "value_si", "tolerance_low", "tolerance_high", "volts", "watts", "technology")),
    *("lot__part__safety_class", "lot__part__polarised", "lot__part__marking"),
    *("lot_id", "drawer_id", "on_hand", "held", "lot__received_on", "lot__unit_cost_milli"),
)


def _candidate_lines(bounds: Any) -> Any:
    """Every free line of a part that the position's rules may let pass, in one plain join."""
    from django.db.models import F, Q

    from inventory.models import Balance

    part = "lot__part__"
    free = Balance.objects.filter(lot__blocked_reason="", on_hand__gt=F("held"), lot__part__in_use=True)
    free = free.filter(**{f"{part}kind__in": bounds.kinds, f"{part}value_si__range": bounds.values})
    for rating, least in (("volts", bounds.least_volts), ("watts", bounds.least_watts)):
        if least is not None:
            free = free.filter(Q(**{f"{part}{rating}__isnull": True}) | Q(**{f"{part}{rating}__gte": least}))
    return free


def _bare(asked: Any) -> Callable[[], object]:
    from django.db import connection

    sql, values = asked.query.sql_with_params()

    def fetch() -> object:
        with connection.cursor() as cursor:
            cursor.execute(sql, values)
            return cursor.fetchall()

    return fetch


def _judge_every_line(asked: Any) -> float:
    """Seconds to load every line of the stock as objects and judge each: a share of it, times that share."""
    from inventory.models import Balance

    share = Balance.objects.select_related("lot__part", "drawer").order_by("pk")[: STOCK_LINES // JUDGED_SHARE]
    return best_of(lambda: [asked.answer(line.lot.part) for line in share.all()], 3) * JUDGED_SHARE


if __name__ == "__main__":
    main()
