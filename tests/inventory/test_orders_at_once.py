"""Two people on one order at the same moment: nothing that came is lost, and no number is given twice."""

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from inventory.models import Balance, Movement, Order
from inventory.queries.orders import standing_of
from inventory.services.order_receipts import ArrivedLine, receive_on_order
from inventory.services.ordering import send_order
from inventory.services.supplier_bills import accept_bill
from shop.acts import Refused
from shop.clock import now
from shop.models import NumberSeries, Role
from shop.verification import verify
from tests.builders import a_drawer, a_profile, a_staff
from tests.inventory.orders import a_bill, a_draft, a_sent_order, arrive, draft_line, line_of

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*acts: Callable[[], object]) -> list[object]:
    """What each act gave back, or the refusal it met."""
    start = threading.Barrier(len(acts))
    answers: list[object] = []

    def run(act: Callable[[], object]) -> None:
        try:
            start.wait()
            answers.append(act())
        except Refused as refused:
            answers.append(refused)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=[act]) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


def receiving(order: Order, count: int, why: str = "") -> Callable[[], Any]:
    person, drawer, line = a_staff(), a_drawer(), line_of(order)

    def receive() -> Any:
        one = ArrivedLine(line, count, drawer, 20_500, why_more=why)
        return receive_on_order(order, [one], received_on=now().date(), person=person, at=now())

    return receive


def test_parallel_receipts_of_one_line_are_all_booked() -> None:
    a_profile()
    order = a_sent_order(draft_line(count=40))
    answers = at_once(*(receiving(order, 10) for _ in range(4)))
    assert not [answer for answer in answers if isinstance(answer, Refused)]
    known = standing_of(Order.objects.get(), "GBP", now().date())
    assert (known.lines[0].received, known.order.state) == (40, "closed")
    assert sum(move.count for move in Movement.objects.all()) == sum(row.on_hand for row in Balance.objects.all()) == 40
    assert not [one for one in verify() if one.differences]


def test_of_two_receipts_of_the_last_ones_the_second_is_asked() -> None:
    a_profile()
    order = a_sent_order(draft_line(count=10))
    answers = at_once(receiving(order, 10), receiving(order, 10))
    refused = [answer for answer in answers if isinstance(answer, Refused)]
    assert [one.code for one in refused] == ["more_than_ordered"]
    assert standing_of(Order.objects.get(), "GBP", now().date()).lines[0].received == 10


def test_orders_sent_at_once_get_numbers_one_after_another() -> None:
    a_profile()
    person, drafts = a_staff(), [a_draft() for _ in range(4)]

    def sending(order: Order) -> Callable[[], object]:
        return lambda: send_order(order, person=person, at=now())

    at_once(*(sending(order) for order in drafts), sending(drafts[0]))
    numbers = sorted(Order.objects.values_list("number", flat=True))
    year = now().year
    assert numbers == [f"B-{year}-{n:04d}" for n in range(1, 5)]
    assert NumberSeries.objects.get(series="B").last == 4


def test_a_bill_is_accepted_while_its_parts_come_in() -> None:
    """Neither waits for the other for ever: a receipt touches the supplier's row only by its key."""
    a_profile()
    order = a_sent_order(draft_line(count=40))
    arrive(line_of(order), 10)
    bill, owner = a_bill(line_of(order), 10), a_staff("owner", Role.OWNER)
    answers = at_once(receiving(order, 10), lambda: accept_bill(bill, person=owner, at=now()), receiving(order, 10))
    assert not [answer for answer in answers if isinstance(answer, Refused)]
    bill.refresh_from_db()
    assert bill.accepted_at is not None
