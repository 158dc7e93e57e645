"""What is on its way and what falls short: ordered less received less given up, and minimums against what can be fitted."""

from typing import Any

import pytest

from inventory import services as stock
from inventory.models import Kind, OrderState
from inventory.queries.on_order import being_ordered, on_order
from inventory.queries.shortages import shortages, standings
from inventory.services.ordering import will_not_come
from shop.clock import now
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff
from tests.inventory.orders import a_draft, a_sent_order, arrive, draft_line, line_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _shop(still_clock: Any) -> None:
    a_profile()


def test_what_came_in_or_was_given_up_is_no_longer_coming() -> None:
    part = a_part()
    order = a_sent_order(draft_line(part, 10), draft_line(part, 5))
    assert on_order([part]) == {part.pk: 15}
    arrive(line_of(order), 4)
    assert on_order([part]) == {part.pk: 11}
    will_not_come(line_of(order), 6, reason="sold out", at=now())
    assert on_order() == {part.pk: 5}


def test_what_was_scrapped_or_sent_back_after_it_came_came_all_the_same() -> None:
    part = a_part()
    lot = arrive(line_of(a_sent_order(draft_line(part, 10))), 4)
    stock.scrap(lot, a_drawer(), 3, reason="crushed in the post", person=a_staff(), at=now())
    assert on_order([part]) == {part.pk: 6}


def test_a_draft_is_being_ordered_and_not_coming_and_a_dropped_one_neither() -> None:
    part = a_part()
    order = a_draft(draft_line(part, 10))
    assert (on_order([part]), being_ordered([part])) == ({}, {part.pk: 10})
    order.state = OrderState.DROPPED
    order.save()
    assert being_ordered([part]) == {}


def test_more_than_ordered_leaves_nothing_coming() -> None:
    part = a_part()
    order = a_sent_order(draft_line(part, 10), draft_line(a_part("1K 1/2W", Kind.RESISTOR), 5))
    arrive(line_of(order), 12, why_more="two for nothing")
    assert on_order([part]) == {}


def test_a_part_falls_short_of_its_minimum_by_what_is_neither_free_nor_coming() -> None:
    part = a_part(minimum=10)
    lot = a_lot(part, 6)
    stock.hold(lot, a_drawer(), 2, reference="J-2026-0001", person=a_staff(), at=now())
    assert [(one.part, one.free, one.short) for one in shortages()] == [(part, 4, 6)]
    a_sent_order(draft_line(part, 3))
    a_draft(draft_line(part, 1))
    assert [(one.coming, one.drafted, one.short) for one in shortages()] == [(3, 1, 2)]
    a_sent_order(draft_line(part, 5))
    assert shortages() == []


def test_what_is_blocked_fills_no_minimum() -> None:
    part = a_part(minimum=5)
    stock.block_lot(a_lot(part, 10), "fakes")
    assert [one.short for one in shortages()] == [5]


def test_a_part_that_is_no_longer_kept_has_no_minimum() -> None:
    part = a_part(minimum=5, in_use=False)
    assert shortages() == []
    assert standings([part.pk])[part.pk].short == 0
