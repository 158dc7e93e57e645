"""Orders to suppliers: written, sent, numbered, received on in part, given up, closed."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import transaction
from hypothesis import given
from hypothesis import strategies as st

from inventory import services as stock
from inventory.models import Balance, Lot, Movement, MovementKind, Order, OrderLine
from inventory.queries.on_order import on_order
from inventory.queries.orders import late_lines, listed, standing_of
from inventory.services import orders
from inventory.services.order_receipts import ArrivedLine, carriage_shares, receive_on_order, with_carriage
from inventory.services.ordering import comes_after_all, expect_on, send_order, will_not_come
from shop.acts import Refused, Stale
from shop.clock import now
from shop.differences import Found
from shop.models import NumberSeries
from shop.verification import verify
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff, drawer_of
from tests.conftest import StillClock
from tests.inventory.orders import a_draft, a_sent_order, an_offer, arrive, draft_line, line_of, supplied_by

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop(still_clock: StillClock) -> StillClock:
    a_profile()
    return still_clock


def today() -> date:
    return now().date()


def differences() -> list[Found]:
    return [one for one in verify() if one.differences]


def test_a_draft_takes_money_rate_and_carriage_from_the_suppliers_card() -> None:
    supplier = supplied_by(currency="EUR", exchange_ppm=860_000, exchange_on=today(), carriage_minor=590)
    order = a_draft(supplier=supplier)
    assert (order.currency, order.exchange_ppm, order.carriage_minor, order.number) == ("EUR", 860_000, 590, "")


def test_carriage_follows_the_terms_until_it_is_typed() -> None:
    supplier = supplied_by(carriage_minor=500, carriage_free_from_minor=5_000)
    order = a_draft(supplier=supplier)
    big = orders.add_line(order, draft_line(a_part("1K 1/2W", "resistance"), 100, 50_000))
    order.refresh_from_db()
    assert order.carriage_minor == 0, "52.05 of goods go free from 50.00 on"
    orders.remove_line(big)
    order.refresh_from_db()
    assert order.carriage_minor == 500
    orders.change_head(order, note="", carriage_minor=350, seen=order.version)
    orders.add_line(order, draft_line(a_part("1K 1/2W", "resistance"), 100, 50_000))
    order.refresh_from_db()
    assert order.carriage_minor == 350, "as agreed on the telephone"


def test_a_supplier_we_no_longer_buy_from_gets_no_order() -> None:
    with pytest.raises(Refused, match="marked as one we don't buy from"):
        a_draft(supplier=supplied_by(in_use=False))


@pytest.mark.parametrize(
    ("count", "text"),
    [
        (15, "comes in packs of 10. Order 20, or fewer packs."),
        (0, "must be from 1 to 100,000"),
        (10**40, "must be from 1 to 100,000"),
    ],
)
def test_packs_and_counts_are_checked(count: int, text: str) -> None:
    with pytest.raises(Refused, match=text):
        a_draft(draft_line(count=count, pack_size=10))


def test_the_least_count_of_an_offer_is_checked() -> None:
    offer = an_offer(least_count=50)
    with pytest.raises(Refused, match="They sell at least 50 of film"):
        a_draft(draft_line(offer.part, 20, 30_000, offer=offer, pack_size=10, text="film"))


def test_an_offer_of_another_supplier_or_in_other_money_is_refused() -> None:
    offer = an_offer(supplier=supplied_by("Tinplate Mews"))
    with pytest.raises(Refused, match="offer of another supplier"):
        a_draft(draft_line(offer.part, 10, 30_000, offer=offer))
    foreign = an_offer(code="FD-474", currency="EUR")
    with pytest.raises(Refused, match="offered in EUR and this order is in GBP"):
        a_draft(draft_line(foreign.part, 10, 30_000, offer=foreign))


def test_sending_numbers_and_freezes_and_reckons_the_days() -> None:
    supplier = supplied_by(lead_days=9)
    quick = an_offer(supplier=supplier, lead_days=2)
    promised = today() + timedelta(days=30)
    order = a_sent_order(
        draft_line(quick.part, 10, 30_000, offer=quick),
        draft_line(a_part("1K 1/2W", "resistance")),
        draft_line(a_part("2K2 1/2W", "resistance"), expected_on=promised),
        draft_line(a_part("4K7 1/2W", "resistance"), expected_on=today() - timedelta(days=1)),
        supplier=supplier,
    )
    assert order.number == "B-2026-0001"
    days = [(line.expected_on - today()).days for line in order.lines.all()]  # type: ignore[attr-defined]
    assert days == [2, 9, 30, 9]
    assert order.expected_on == promised
    for change in (
        lambda: orders.add_line(order, draft_line()),
        lambda: orders.change_line(line_of(order), draft_line(count=99), seen=order.version),
        lambda: orders.remove_line(line_of(order)),
        lambda: orders.change_head(order, note="x", carriage_minor=1, seen=order.version),
        lambda: orders.drop_draft(order, at=now()),
        lambda: send_order(order, person=a_staff(), at=now()),
    ):
        with pytest.raises(Refused, match="is sent: what was ordered stands as it is"):
            change()


def test_an_empty_order_is_not_sent() -> None:
    empty = orders.draft_order(supplied_by(), (), person=a_staff(), at=now())
    with pytest.raises(Refused, match="Nothing is on this order yet"):
        send_order(empty, person=a_staff(), at=now())


def test_an_order_written_in_money_the_supplier_no_longer_takes_is_not_sent() -> None:
    order = a_draft()
    supplied_by(currency="EUR", exchange_ppm=860_000)
    with pytest.raises(Refused, match="written in GBP, and Ferrule & Daughters is paid in EUR now"):
        send_order(order, person=a_staff(), at=now())


def test_a_roll_back_gives_the_number_back() -> None:
    class PowerFails(Exception):
        pass

    a_sent_order()
    failed = a_draft()

    @transaction.atomic
    def send_until_the_power_fails() -> None:
        send_order(failed, person=a_staff(), at=now())
        raise PowerFails

    with pytest.raises(PowerFails):
        send_until_the_power_fails()
    failed.refresh_from_db()
    assert failed.number == ""
    assert a_sent_order().number == "B-2026-0002"
    assert NumberSeries.objects.get(series="B").last == 2
    assert not differences()


def test_each_year_counts_from_one(shop: StillClock) -> None:
    assert a_sent_order().number == "B-2026-0001"
    shop.forward(days=365)
    assert a_sent_order().number == "B-2027-0001"


def test_a_dropped_draft_can_be_taken_up_again_and_never_had_a_number() -> None:
    order = orders.drop_draft(a_draft(), at=now())
    assert (order.state, order.number) == ("dropped", "")
    with pytest.raises(Refused, match="stands as it is"):
        orders.add_line(order, draft_line())
    orders.take_up_again(order)
    assert send_order(order, person=a_staff(), at=now()).number == "B-2026-0001"


def test_two_editors_of_a_draft_the_second_is_told() -> None:
    order = a_draft()
    seen = order.version
    orders.change_line(line_of(order), draft_line(count=20), seen=seen)
    with pytest.raises(Stale, match="Somebody else changed this order"):
        orders.change_line(line_of(order), draft_line(count=30), seen=seen)
    assert line_of(order).count == 20


def test_received_is_the_sum_of_the_movements_of_its_lots() -> None:
    order = a_sent_order(draft_line(count=10), draft_line(a_part("1K 1/2W", "resistance"), 100, 1_250))
    lot = arrive(line_of(order), 4)
    arrive(line_of(order), 3)
    stock.scrap(lot, drawer_of(lot), 2, reason="leads broken", person=a_staff(), at=now())
    stock.transfer(lot, drawer_of(lot), a_drawer("B", "1"), 1, person=a_staff(), at=now())
    known = standing_of(Order.objects.get(pk=order.pk), "GBP", today())
    for line in known.lines:
        moves = Movement.objects.filter(lot__order_line=line.line, kind=MovementKind.RECEIVED)
        assert line.received == sum(move.count for move in moves)
    assert [(line.received, line.open) for line in known.lines] == [(7, 3), (0, 100)]
    assert on_order() == {known.lines[0].line.part_id: 3, known.lines[1].line.part_id: 100}
    assert not differences()


def test_what_is_set_apart_as_an_individual_came_in_once() -> None:
    order = a_sent_order()
    lot = arrive(line_of(order), 10)
    Movement.objects.create(
        lot=Lot.objects.create(part=lot.part, received_on=today(), unit_cost_milli=1, order_line=lot.order_line, split_from=lot),
        drawer=a_drawer(),
        kind=MovementKind.SPLIT_IN,
        count=1,
        at=now(),
        person=a_staff(),
    )
    assert standing_of(order, "GBP", today()).lines[0].received == 10


def test_an_order_closes_by_itself_and_opens_again() -> None:
    order = a_sent_order()
    arrive(line_of(order), 8)
    will_not_come(line_of(order), 2, reason="out of production", at=now())
    order.refresh_from_db()
    assert (order.state, order.closed_at) == ("closed", now())
    comes_after_all(line_of(order), at=now())
    order.refresh_from_db()
    assert (order.state, order.closed_at) == ("sent", None)
    arrive(line_of(order), 2)
    order.refresh_from_db()
    assert order.state == "closed"
    assert not differences()


@pytest.mark.parametrize("count", [0, -1, 11, 10**30])
def test_no_more_is_given_up_than_is_open(count: int) -> None:
    order = a_sent_order()
    with pytest.raises(Refused, match="10 of .* are still open. Type a count from 1 to 10"):
        will_not_come(line_of(order), count, reason="no", at=now())
    with pytest.raises(Refused, match="Say why it will not come"):
        will_not_come(line_of(order), 1, reason="  ", at=now())


def test_more_than_ordered_is_asked_about_and_kept_with_a_reason() -> None:
    order = a_sent_order()
    line = line_of(order)
    with pytest.raises(Refused, match="12 of .* came and 10 are open") as asked:
        arrive(line, 12)
    assert asked.value.field == f"why_more_{line.pk}"
    assert not Lot.objects.exists()
    lot = arrive(line, 12, why_more="two thrown in")
    assert lot.movements.get().reason == "more than ordered: two thrown in"  # type: ignore[attr-defined]
    known = standing_of(Order.objects.get(pk=order.pk), "GBP", today())
    assert (known.lines[0].received, known.lines[0].open, known.lines[0].more) == (12, 0, 2)
    assert known.order.state == "closed"


def test_one_line_that_is_refused_lets_nothing_in() -> None:
    order = a_sent_order(draft_line(count=10), draft_line(a_part("1K 1/2W", "resistance"), 100, 1_250))
    both = [ArrivedLine(line_of(order, 0), 5, a_drawer(), 100), ArrivedLine(line_of(order, 1), 101, a_drawer(), 100)]
    with pytest.raises(Refused):
        receive_on_order(order, both, received_on=today(), person=a_staff(), at=now())
    assert not Movement.objects.exists()
    assert not Balance.objects.exists()


def test_a_receipt_in_sight_of_an_older_state_is_told() -> None:
    order = a_sent_order()
    seen = order.version
    one = [ArrivedLine(line_of(order), 5, a_drawer(), 100)]
    receive_on_order(order, one, received_on=today(), person=a_staff(), at=now(), seen=seen)
    with pytest.raises(Stale, match="Somebody else booked something on this order"):
        receive_on_order(order, one, received_on=today(), person=a_staff(), at=now(), seen=seen)
    assert standing_of(order, "GBP", today()).lines[0].received == 5


def test_nothing_comes_in_on_a_draft_or_without_a_count() -> None:
    draft = a_draft()
    with pytest.raises(Refused, match="was not sent"):
        arrive(line_of(draft), 1)
    with pytest.raises(Refused, match="Nothing was typed to come in"):
        receive_on_order(a_sent_order(), [], received_on=today(), person=a_staff(), at=now())


def test_a_lot_knows_its_order_its_supplier_and_its_window() -> None:
    order = a_sent_order(supplier=supplied_by(return_days=30))
    lot = arrive(line_of(order), 3, date_code="2611")
    assert (lot.order_line, lot.supplier, lot.date_code) == (line_of(order), order.supplier, "2611")
    assert lot.return_until_on == today() + timedelta(days=30)


def arrived(*rows: tuple[int, int]) -> list[ArrivedLine]:
    return [ArrivedLine(OrderLine(), count, a_drawer_unsaved(), cost) for count, cost in rows]


def a_drawer_unsaved() -> Any:
    return None


def test_carriage_is_shared_by_value_to_the_last_coin() -> None:
    """Worked by hand: 10.00 over goods of 20.00, 30.00 and 50.00 is 2.00, 3.00 and 5.00; each of ten then costs 0.20 more."""
    rows = arrived((10, 200_000), (10, 300_000), (10, 500_000))
    assert carriage_shares(rows, 1_000) == [200_000, 300_000, 500_000]
    assert with_carriage(rows, 1_000) == [220_000, 330_000, 550_000]


@given(
    st.lists(st.tuples(st.integers(1, 5_000), st.integers(0, 10_000_000)), min_size=1, max_size=12),
    st.integers(0, 1_000_000),
)
def test_shares_sum_to_the_carriage_and_costs_stay_within_half_a_thousandth_a_piece(
    rows: list[tuple[int, int]], carriage: int
) -> None:
    lines = arrived(*rows)
    assert sum(carriage_shares(lines, carriage)) == carriage * 1000
    booked = sum(count * (cost - plain) for (count, plain), cost in zip(rows, with_carriage(lines, carriage), strict=True))
    assert 2 * abs(booked - carriage * 1000) <= sum(count for count, _ in rows)


def test_carriage_of_what_cost_nothing_is_shared_by_count() -> None:
    assert with_carriage(arrived((1, 0), (3, 0)), 400) == [100_000, 100_000]


def test_late_is_reckoned_by_day(shop: StillClock) -> None:
    order = a_sent_order(supplier=supplied_by(lead_days=7))
    shop.forward(days=7)
    assert not late_lines(today())
    shop.forward(days=1)
    assert [line.order_id for line in late_lines(today())] == [order.pk]
    assert standing_of(order, "GBP", today()).late_days == 1
    expect_on(line_of(order), today() + timedelta(days=3), seen=None)
    assert not late_lines(today())
    order.refresh_from_db()
    assert order.expected_on == today() + timedelta(days=3)


def test_the_list_puts_back_orders_first_then_what_was_sent_then_drafts() -> None:
    draft, waiting, partly, closed = a_draft(), a_sent_order(), a_sent_order(), a_sent_order()
    arrive(line_of(partly), 1)
    arrive(line_of(closed), 10)
    rows = list(listed())
    assert [row.pk for row in rows] == [partly.pk, waiting.pk, draft.pk, closed.pk]
    assert [row.coming for row in rows] == [9, 10, 0, 0]  # type: ignore[attr-defined]
    assert [row.goods for row in rows] == [205] * 4  # type: ignore[attr-defined]


def test_more_of_one_line_hides_no_rest_of_another() -> None:
    order = a_sent_order(draft_line(count=10), draft_line(a_part("1K 1/2W", "resistance"), 100, 1_250))
    arrive(line_of(order), 50, why_more="they packed five bags")
    assert listed().get().coming == 100  # type: ignore[attr-defined]
    order.refresh_from_db()
    assert order.state == "sent"


def test_the_check_of_the_books_finds_an_order_that_was_tampered_with() -> None:
    order = a_sent_order()
    arrive(line_of(order), 10)
    Order.objects.filter(pk=order.pk).update(state="sent")
    other = a_lot(a_part("2K2 1/2W", "resistance"))
    Lot.objects.filter(pk=other.pk).update(order_line=line_of(order))
    told = [sentence for one in differences() for sentence in one.differences]
    assert "B-2026-0001 open: kept True, derived False" in told
    assert any(sentence.startswith(f"part of lot {other.pk}") for sentence in told)
    Order.objects.filter(pk=order.pk).update(number="B-2026-0007", state="closed")
    told = [sentence for one in differences() for sentence in one.differences]
    assert "series B-2026: counter at 1, given [7]" in told
