"""FIFO and the weighted average (IAS 2, paragraphs 25 and 27) against published worked examples, through receipts and takings."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction

import pytest

from inventory import services
from inventory.models import Lot, Part
from inventory.queries.valuing import value_on
from shop.clock import now, today
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff
from tests.conftest import StillClock
from tests.outside.facts import agree, facts

ROWS = facts("stock_costing.csv")


def carry_out(moves: str, part: Part, clock: StillClock) -> None:
    """`+8@4` came in at 4.00 each; `-8` left, taken from whichever lot is the oldest with something in it."""
    for move in moves.split():
        clock.forward(minutes=1)
        count, _, unit = move.partition("@")
        if unit:
            a_lot(part, int(count), unit_cost_milli=int(Decimal(unit) * 100_000))
        else:
            for lot, taken in _taken(part, -int(count)):
                services.scrap(lot, a_drawer(), taken, reason="sold in the example", person=a_staff(), at=now())


def _taken(part: Part, wanted: int) -> Iterator[tuple[Lot, int]]:
    for lot in part.lots.order_by("pk"):
        there = lot.balances.get().on_hand
        taken, wanted = min(there, wanted), wanted - min(there, wanted)
        if taken:
            yield lot, taken


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_a_published_example_comes_out(row: dict[str, str], db: None, still_clock: StillClock) -> None:
    a_profile()
    part = a_part()
    carry_out(row["moves"], part, still_clock)
    still_clock.now += timedelta(minutes=1)
    worth = value_on(today(), part=part).total
    assert worth.on_hand == int(row["on_hand"])
    agree(row, worth.fifo_milli == Decimal(row["fifo"]) * 100_000, f"FIFO {worth.fifo_milli}")
    each = worth.average_milli / worth.on_hand / 100_000
    rounded = round(each, len(row["average_each"].partition(".")[2]))
    agree(row, rounded == Fraction(row["average_each"]), f"average {float(each)}")


def test_every_row_names_its_source() -> None:
    assert all(row["source"] and row["origin"] in ("read", "computed", "memory") for row in ROWS)
