"""How long it takes to value the stock after a year of 100,000 movements, or several, and to reckon its turns.

Against the bare SQL sum by lot that no value could be had without, and against playing every movement back in Python.

    .venv/bin/python -m tests.speed.valuing [years, 1 where not given]
"""

import random
import sys
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from typing import Any

from tests.speed.stock import analyse, scratch_database
from tests.speed.timing import best_of

MOVEMENTS_A_YEAR = 100_000
PARTS = 800
LOTS_A_YEAR = 3_000
BEGINNING = datetime(2023, 1, 2, 9, 0, tzinfo=UTC)
ROUNDS = 5


def main() -> None:
    years = int(sys.argv[1]) if sys.argv[1:] else 1
    with scratch_database() as vendor:
        fill_years(years)
        print(f"  {years * MOVEMENTS_A_YEAR:,} movements of {years * LOTS_A_YEAR:,} lots of {PARTS} parts, {vendor}")
        _measure(years)


def _measure(years: int) -> None:
    from inventory.queries.turning import dead_lots, turns_between
    from inventory.queries.valuing import end_of, value_on

    last = (BEGINNING + timedelta(days=365 * years)).date()
    end = end_of(last)
    bare = best_of(lambda: _bare(end), ROUNDS)
    value = best_of(lambda: value_on(last).total, ROUNDS)
    played = best_of(lambda: _play_back(end), ROUNDS)
    turning = best_of(lambda: turns_between(last - timedelta(days=364), last).total, ROUNDS)
    dead = best_of(lambda: dead_lots(last, 365), ROUNDS)
    print(f"    value on a day {value * 1000:.0f} ms: {value / bare:.1f} times the bare sum by lot ({bare * 1000:.0f} ms)")
    print(f"    every movement played back in Python takes {played / value:.1f} times as long as the value")
    print(f"    turns of a year {turning / bare:.1f} times the bare sum, dead stock {dead / bare:.1f} times")


def _bare(end: datetime) -> object:
    from django.db.models import Sum

    from inventory.models import Movement

    return list(Movement.objects.filter(at__lt=end).order_by().values_list("lot_id").annotate(Sum("count")))


def _play_back(end: datetime) -> dict[int, Fraction]:
    """The moving average of every part from all its movements, one by one."""
    from inventory.models import Movement

    heaps: dict[int, tuple[int, Fraction]] = {}
    rows = Movement.objects.filter(at__lt=end).order_by("at", "pk")
    for part, kind, count, unit in rows.values_list("lot__part_id", "kind", "count", "lot__unit_cost_milli").iterator():
        there, worth = heaps.get(part, (0, Fraction()))
        added = Fraction(count * unit) if kind == "received" else worth / there * count if there else Fraction()
        heaps[part] = (there + count, worth + added)
    return {part: worth for part, (_, worth) in heaps.items()}


def fill_years(years: int, seed: int = 11) -> None:
    """Every year some lots of each part come in, and parts are fitted from the lots that lie there, or moved, or scrapped."""
    from inventory.models import Balance, Drawer, Lot, Movement, Part
    from shop.models import Staff

    chance = random.Random(seed)
    person = Staff.objects.create_user("measuring")
    drawer = Drawer.objects.create(cabinet="A", tray="1")
    Part.objects.bulk_create(Part(kind="resistance", marking=f"{n} Ω 1 W", value_si=n) for n in range(1, PARTS + 1))
    parts = list(Part.objects.values_list("pk", flat=True))
    came = sorted(BEGINNING + timedelta(minutes=chance.randrange(365 * 1440 * years)) for _ in range(LOTS_A_YEAR * years))
    lots = [Lot(part_id=chance.choice(parts), received_on=at.date(), unit_cost_milli=chance.randrange(1, 400_000)) for at in came]
    Lot.objects.bulk_create(lots, batch_size=2000)
    pks = list(Lot.objects.order_by("pk").values_list("pk", flat=True))
    rows: list[tuple[datetime, int, str, int]] = []
    left: dict[int, int] = {}
    for pk, at in zip(pks, came, strict=True):
        count = chance.randrange(20, 60)
        left[pk] = count
        rows.append((at, pk, "received", count))
        for _ in range(MOVEMENTS_A_YEAR // LOTS_A_YEAR - 1):
            if left[pk] > 2:
                left[pk] -= 1
                kind = chance.choices(("fitted", "scrapped", "counted"), (90, 5, 5))[0]
                rows.append((at + timedelta(minutes=chance.randrange(1, 300 * 1440)), pk, kind, -1))
    rows.sort()
    shared: dict[str, Any] = {"drawer": drawer, "person": person}
    moves = (Movement(at=at, lot_id=lot, kind=kind, count=count, **shared) for at, lot, kind, count in rows)
    Movement.objects.bulk_create(moves, batch_size=5000)
    Balance.objects.bulk_create(
        (Balance(lot_id=lot, drawer=drawer, on_hand=count) for lot, count in left.items()), batch_size=5000
    )
    analyse()


if __name__ == "__main__":
    main()
