"""What lies of a part stands on its card: written with each movement and hold, and never two acts waiting for each other."""

from datetime import UTC, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory import filters
from inventory import services as stock
from inventory.filters import MovementFilter
from inventory.models import Lot, Movement, Part
from inventory.services import card_sums
from inventory.verification import card_sums as differing
from shop.clock import now
from tests.builders import a_drawer, a_lot, a_part, a_staff

pytestmark = pytest.mark.django_db


def sums(part: Part) -> tuple[int, int]:
    return Part.objects.values_list("on_hand", "held").get(pk=part.pk)


def test_a_card_follows_what_comes_is_held_and_is_let_go() -> None:
    part, person = a_part(), a_staff()
    lot = a_lot(part, 10)
    held = stock.hold(lot, a_drawer(), 4, reference="J-2026-0001", person=person, at=now())
    assert sums(part) == (10, 4)
    stock.release_hold(held, at=now())
    stock.count_drawer(lot, a_drawer(), 7, reason="three broke", person=person, at=now())
    assert sums(part) == (7, 0)
    assert Lot.objects.get(pk=lot.pk).on_hand == 7
    assert not list(differing().differences)


def test_sums_drawn_anew_are_those_written_act_by_act() -> None:
    part = a_part()
    a_lot(part, 10)
    a_lot(part, 5)
    Part.objects.update(on_hand=99, held=9)
    Lot.objects.update(on_hand=77)
    assert list(differing().differences)
    card_sums.sum_all()
    assert sums(part) == (15, 0)
    assert not list(differing().differences)


def test_cards_are_locked_in_the_order_of_their_keys() -> None:
    """So two acts over the same parts never each hold what the other waits for."""
    parts = [a_part(f"{number} kΩ", "resistor") for number in (10, 22, 47)]
    with CaptureQueriesContext(connection) as asked:
        card_sums.lock(part.pk for part in reversed(parts))
    if not connection.features.has_select_for_update:
        assert not asked.captured_queries, "who writes has the whole database locked"
        return
    (query,) = [one["sql"] for one in asked]
    assert query.startswith('SELECT "inventory_part"."id"')
    assert "ORDER BY 1 ASC" in query
    assert query.endswith("FOR NO KEY UPDATE")


def test_a_movement_locks_its_card_before_its_lot_and_drawer() -> None:
    lot, person = a_lot(count=10), a_staff()
    with CaptureQueriesContext(connection) as asked:
        stock.count_drawer(lot, a_drawer(), 9, reason="one broke", person=person, at=now())
    tables = [one["sql"] for one in asked if '"inventory_part"' in one["sql"] or '"inventory_balance"' in one["sql"]]
    first = "inventory_part" if connection.features.has_select_for_update else "inventory_balance"
    assert tables[0].startswith("SELECT")
    assert f'FROM "{first}"' in tables[0]


def listed(**query: str) -> list[str]:
    found = MovementFilter(query, Movement.objects.order_by("-pk"))
    assert found.is_valid()
    return [one.lot.part.marking for one in found.qs]


def test_the_ledger_is_asked_by_day_in_the_order_of_moments() -> None:
    """A movement written later may be of an earlier moment."""
    for marking, day in (("10 kΩ", 3), ("22 kΩ", 1), ("47 kΩ", 2)):
        a_lot(a_part(marking, "resistor"), at=datetime(2026, 2, day, 12, tzinfo=UTC))
    assert listed() == ["47 kΩ", "22 kΩ", "10 kΩ"]
    assert listed(since="2026-02-02") == ["10 kΩ", "47 kΩ"]
    assert listed(until="2026-02-02") == ["47 kΩ", "22 kΩ"]
    assert listed(since="2026-02-02", until="2026-02-02") == ["47 kΩ"]
    assert listed(until="9999-12-31") == ["47 kΩ", "22 kΩ", "10 kΩ"]


def test_the_ledger_is_asked_by_part_whether_few_or_many_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    for marking in ("10 kΩ", "10 kΩ 2 W", "47 kΩ"):
        a_lot(a_part(marking, "resistor"))
    few = listed(q="10 kΩ")
    monkeypatch.setattr(filters, "FEW_PARTS", 1)
    assert listed(q="10 kΩ") == few == ["10 kΩ 2 W", "10 kΩ"]
