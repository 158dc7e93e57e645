"""What the stock was worth on any day: by lot, FIFO, average, lower of cost and what it would fetch."""

from collections import deque
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from typing import Any

import pytest
from django.test import override_settings
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory import services
from inventory.models import Balance, Condition, Drawer, Kind, Lot, Movement, MovementKind, Part
from inventory.queries.realisable import list_prices, used_above_half
from inventory.queries.valuing import StockValue, end_of, value_on
from inventory.services import Judged, PartFacts
from inventory.valuation import Arrival, Layer, average_milli, coins, fifo_milli, turns
from shop.clock import now, today
from shop.models import MarkupStep
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff, a_supplier
from tests.conftest import StillClock


def take(lot: Lot, count: int = 1, drawer: Drawer | None = None) -> Movement:
    return services.take(lot, drawer or a_drawer(), count, reference="J-2026-0001", person=a_staff(), at=now())


def set_apart(lot: Lot, drawer: Drawer | None = None, **more: Any) -> Lot:
    """An individual out of a lot, as the ledger writes it."""
    where = drawer or a_drawer()
    kept = {"part": lot.part, "received_on": lot.received_on, "unit_cost_milli": lot.unit_cost_milli, "condition": lot.condition}
    child = Lot.objects.create(split_from=lot, **{**kept, **more})
    for one, kind, count in ((lot, MovementKind.SPLIT_OUT, -1), (child, MovementKind.SPLIT_IN, 1)):
        Movement.objects.create(lot=one, drawer=where, kind=kind, count=count, at=now(), person=a_staff())
        balance, _ = Balance.objects.get_or_create(lot=one, drawer=where)
        Balance.objects.filter(pk=balance.pk).update(on_hand=balance.on_hand + count)
    return child


def worths(value: StockValue) -> tuple[int, int, int, Fraction]:
    total = value.total
    return total.on_hand, total.cost_milli, total.fifo_milli, total.average_milli


@pytest.fixture
def part(db: None, still_clock: StillClock) -> Part:
    a_profile()
    return a_part()


def two_lots(part: Part, clock: StillClock) -> tuple[Lot, Lot]:
    """Ten at 0.10, a day later ten at 0.20."""
    first = a_lot(part, 10, unit_cost_milli=10_000)
    clock.forward(days=1)
    return first, a_lot(part, 10, unit_cost_milli=20_000)


class TestTheArithmetic:
    def test_fifo_leaves_what_came_last(self) -> None:
        layers = [Layer(10, 10), Layer(10, 20), Layer(0, 99)]
        assert [fifo_milli(layers, count) for count in (0, 1, 10, 15, 20)] == [0, 20, 200, 250, 300]

    def test_more_than_ever_came_in_is_worth_the_oldest_cost(self) -> None:
        assert fifo_milli([Layer(1, 10), Layer(1, 20)], 4) == 50
        assert fifo_milli([], 4) == 0

    def test_the_average_moves_with_every_arrival_and_is_exact(self) -> None:
        assert average_milli([]) is None
        assert average_milli([Arrival(0, 3, 10)]) == 10
        assert average_milli([Arrival(0, 1, 1), Arrival(1, 2, 2)]) == Fraction(5, 3)
        # Said to lie there before the first arrival, by a clock put back: nothing is known of what it cost.
        assert average_milli([Arrival(5, 2, 7)]) == 7

    def test_sums_are_rounded_once_half_up(self) -> None:
        assert [coins(milli) for milli in (0, 499, 500, Fraction(1499, 1), Fraction(2999, 2))] == [0, 0, 1, 1, 1]

    def test_no_stock_has_no_turns(self) -> None:
        assert turns(100, Fraction(0)) is None
        assert turns(100, Fraction(50)) == 2


class TestWhatIsLeft:
    def test_parts_leave_by_lot_and_that_is_their_cost(self, part: Part, still_clock: StillClock) -> None:
        _, second = two_lots(part, still_clock)
        take(second, 8)
        # by lot 10 x 0.10 + 2 x 0.20; FIFO 10 x 0.20 + 2 x 0.10; average 12 x 0.15
        assert worths(value_on(today())) == (12, 140_000, 220_000, 180_000)

    def test_on_a_past_day_only_what_had_moved_by_then_counts(self, part: Part, still_clock: StillClock) -> None:
        first, _ = two_lots(part, still_clock)
        yesterday = today() - timedelta(days=1)
        assert worths(value_on(yesterday)) == (10, 100_000, 100_000, 100_000)
        take(first, 10)
        assert worths(value_on(yesterday)) == (10, 100_000, 100_000, 100_000)
        assert worths(value_on(today())) == (10, 200_000, 200_000, 150_000)
        assert value_on(date(2025, 1, 1)).parts == []

    @override_settings(TIME_ZONE="Pacific/Auckland")
    def test_a_day_ends_at_midnight_in_the_shops_time_zone(self, part: Part, still_clock: StillClock) -> None:
        assert end_of(date(2026, 3, 2)) == datetime(2026, 3, 2, 11, 0, tzinfo=UTC)
        still_clock.now = datetime(2026, 3, 2, 10, 59, tzinfo=UTC)
        a_lot(part, 1)
        still_clock.now = datetime(2026, 3, 2, 11, 0, tzinfo=UTC)
        a_lot(part, 1)
        assert value_on(date(2026, 3, 2)).total.on_hand == 1

    @override_settings(TIME_ZONE="Europe/London")
    def test_so_it_does_on_the_day_the_clocks_change(self) -> None:
        assert end_of(date(2026, 3, 29)) - end_of(date(2026, 3, 28)) == timedelta(hours=23)

    def test_taken_out_of_a_set_a_part_is_as_if_not_fitted(self, part: Part, still_clock: StillClock) -> None:
        first, second = two_lots(part, still_clock)
        before = worths(value_on(today()))
        for lot in (first, second):
            services.put_back(take(lot, 3), reason="wrong value", reference="J", person=a_staff(), at=now())
        assert worths(value_on(today())) == before

    def test_moved_to_another_drawer_it_is_worth_the_same(self, part: Part, still_clock: StillClock) -> None:
        first, _ = two_lots(part, still_clock)
        before = worths(value_on(today()))
        services.transfer(first, a_drawer(), a_drawer("B"), 4, person=a_staff(), at=now())
        assert worths(value_on(today())) == before

    def test_found_at_a_count_it_belongs_to_its_lot(self, part: Part, still_clock: StillClock) -> None:
        first, second = two_lots(part, still_clock)
        services.count_drawer(first, a_drawer(), 12, reason="two behind the tray", person=a_staff(), at=now())
        assert worths(value_on(today())) == (22, 320_000, 320_000, 22 * 15_000)
        take(second, 10)
        # FIFO: ten of 0.20 are the newest, and two of 0.10
        assert worths(value_on(today())) == (12, 120_000, 220_000, 180_000)

    def test_missed_at_a_count_and_found_again_makes_no_new_layer(self, part: Part, still_clock: StillClock) -> None:
        _, second = two_lots(part, still_clock)
        before = worths(value_on(today()))
        for counted in (7, 10):
            services.count_drawer(second, a_drawer(), counted, reason="counted anew", person=a_staff(), at=now())
        assert worths(value_on(today())) == before

    def test_sent_back_it_leaves_its_own_layer(self, part: Part, still_clock: StillClock) -> None:
        a_lot(part, 10, unit_cost_milli=10_000)
        still_clock.forward(days=1)
        second = a_lot(part, 10, unit_cost_milli=20_000, supplier=a_supplier())
        services.send_back(second, a_drawer(), 10, reason="fakes", person=a_staff(), at=now())
        assert worths(value_on(today())) == (10, 100_000, 100_000, 150_000)

    def test_set_apart_it_keeps_the_cost_and_the_age_of_its_lot(self, part: Part, still_clock: StillClock) -> None:
        first, second = two_lots(part, still_clock)
        before = worths(value_on(today()))
        still_clock.forward(days=1)
        set_apart(first, mark="V1")
        twice = set_apart(set_apart(first, mark="V2"), mark="V3")
        assert worths(value_on(today())) == before
        take(second, 10)
        # The individuals came set apart last; as old as their lot, they are what FIFO says left first.
        assert worths(value_on(today())) == (10, 100_000, 200_000, 150_000)
        assert twice.pk in {one.lot.pk for one in value_on(today()).lots}

    def test_used_up_and_bought_again_the_average_starts_anew(self, part: Part, still_clock: StillClock) -> None:
        take(a_lot(part, 10, unit_cost_milli=10_000), 10)
        still_clock.forward(days=1)
        a_lot(part, 10, unit_cost_milli=20_000)
        assert worths(value_on(today())) == (10, 200_000, 200_000, 200_000)

    def test_parts_and_kinds_add_up_to_the_whole(self, part: Part, still_clock: StillClock) -> None:
        a_lot(part, 7, unit_cost_milli=333)
        a_lot(a_part("12SK7", Kind.VALVE), 3, unit_cost_milli=400_001)
        value = value_on(today())
        assert [one.part.kind for one in value.parts] == [Kind.VALVE, Kind.CAPACITOR]
        assert [one.label for one in value.kinds] == ["Capacitor", "Valve"]
        assert value.total.cost_milli == sum(one.worth.cost_milli for one in value.kinds) == 7 * 333 + 3 * 400_001
        assert value_on(today(), kind=Kind.VALVE).total.on_hand == 3


# What happens to one part: bought at a cost, fitted, scrapped, moved, set apart, taken out again.
ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("buy"), st.integers(1, 9), st.integers(0, 50_000)),
        st.tuples(st.just("fit"), st.integers(1, 9), st.integers(0, 5)),
        st.tuples(st.just("scrap"), st.integers(1, 9), st.integers(0, 5)),
        st.tuples(st.just("move"), st.integers(1, 9), st.integers(0, 5)),
        st.tuples(st.just("apart"), st.just(1), st.integers(0, 5)),
    ),
    max_size=14,
)


class PlainModel:
    """The same stock as a queue of units for FIFO, and as a heap with its worth for the average; units by lot beside them."""

    def __init__(self) -> None:
        self.queue: deque[int] = deque()
        self.heap, self.left_fifo, self.left_heap, self.left_by_lot = Fraction(0), 0, Fraction(0), 0
        self.received = 0

    def buy(self, count: int, unit: int) -> None:
        self.queue.extend([unit] * count)
        self.heap += count * unit
        self.received += count * unit

    def leave(self, count: int, unit_of_lot: int) -> None:
        for _ in range(count):
            each = self.heap / len(self.queue)
            self.left_fifo += self.queue.popleft()
            self.heap -= each
            self.left_heap += each
            self.left_by_lot += unit_of_lot


@given(acts=ACTS)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_what_came_in_is_what_left_and_what_is_there(acts: list[tuple[str, int, int]], db: None, still_clock: StillClock) -> None:
    """Exactly, by lot, by FIFO and by average, against a plain model that keeps every unit."""
    a_profile()
    part, model, other = a_part(), PlainModel(), a_drawer("Z")
    for act, count, which in acts:
        still_clock.forward(minutes=1)
        if act == "buy":
            a_lot(part, count, unit_cost_milli=which)
            model.buy(count, which)
            continue
        there = list(Balance.objects.filter(lot__part=part, on_hand__gt=0).select_related("lot", "drawer").order_by("pk"))
        if not there:
            continue
        balance = there[which % len(there)]
        many = min(count, balance.on_hand)
        if act == "move":
            target = a_drawer() if balance.drawer == other else other
            services.transfer(balance.lot, balance.drawer, target, many, person=a_staff(), at=now())
        elif act == "apart":
            set_apart(balance.lot, balance.drawer)
        else:
            if act == "fit":
                take(balance.lot, many, balance.drawer)
            else:
                services.scrap(balance.lot, balance.drawer, many, reason="cracked", person=a_staff(), at=now())
            model.leave(many, balance.lot.unit_cost_milli)
    worth = value_on(today(), part=part).total
    assert worth.on_hand == len(model.queue)
    assert worth.cost_milli + model.left_by_lot == model.received
    assert worth.fifo_milli == sum(model.queue)
    assert worth.fifo_milli + model.left_fifo == model.received
    assert worth.average_milli == model.heap
    assert worth.average_milli + model.left_heap == model.received


def card(part: Part, list_price_minor: int | None) -> PartFacts:
    return PartFacts(part.kind, part.marking, part.technology, value_si=part.value_si, list_price_minor=list_price_minor)


def price(part: Part, list_price_minor: int | None) -> None:
    part.refresh_from_db()
    services.change_part(part, card(part, list_price_minor), seen=part.version, person=a_staff(), at=now())


def judged(unit_milli: int = 5_000, from_on: date | None = None, reason: str = "nobody buys them") -> Judged:
    return Judged(unit_milli, from_on or today(), reason)


def write_down(lot: Lot, **values: Any) -> None:
    services.write_down(lot, judged(**values), seen=services.writedown_seen(lot), person=a_staff(), at=now())


class TestWhatItWouldFetch:
    def test_the_ladder_never_sells_below_cost_however_it_rounds(self, part: Part) -> None:
        MarkupStep.objects.create(cost_up_to_minor=100_000, factor_percent=100)
        a_lot(part, 1, unit_cost_milli=1_400)
        total = value_on(today()).total
        assert (total.realisable_milli, total.taken_milli, total.is_below_cost) == (1_400, 1_400, False)

    def test_each_kind_by_its_own_ladder(self, part: Part) -> None:
        MarkupStep.objects.create(part_kind=Kind.CAPACITOR, cost_up_to_minor=100_000, factor_percent=400)
        a_lot(part, 1, unit_cost_milli=10_000)
        assert value_on(today()).total.realisable_milli == 40_000

    def test_a_list_price_below_cost_is_the_value_lot_by_lot(self, part: Part, still_clock: StillClock) -> None:
        two_lots(part, still_clock)
        price(part, 15)
        total = value_on(today()).total
        # 10 x 0.10 stay at cost; 10 x 0.20 fetch 0.15: what one lot would gain doesn't make up for the other's loss (IAS 2, 29)
        assert (total.cost_milli, total.realisable_milli, total.taken_milli) == (300_000, 300_000, 250_000)

    def test_by_the_list_price_of_that_day(self, part: Part, still_clock: StillClock) -> None:
        two_lots(part, still_clock)
        days = []
        for list_price in (15, None, 5):
            still_clock.forward(days=1)
            days.append(today())
            price(part, list_price)
        assert [value_on(day).total.taken_milli for day in days] == [250_000, 300_000, 100_000]
        assert value_on(days[0] - timedelta(days=1)).total.taken_milli == 300_000
        assert list_prices(end_of(days[0])) == {part.pk: 15}

    def test_a_price_given_with_the_card_holds_from_the_beginning(self, part: Part, still_clock: StillClock) -> None:
        dear = services.add_part(PartFacts(Kind.VALVE, "EL84", list_price_minor=10))
        a_lot(dear, 1, unit_cost_milli=20_000)
        first = today()
        still_clock.forward(days=1)
        price(dear, 900)
        assert (value_on(first).total.taken_milli, value_on(today()).total.taken_milli) == (10_000, 20_000)

    def test_what_the_hour_pays_for_keeps_its_cost(self, db: None, still_clock: StillClock) -> None:
        a_profile()
        a_lot(a_part(list_price_minor=1, in_the_hour=True), 10, unit_cost_milli=2_000)
        assert value_on(today()).total.taken_milli == 20_000

    def test_written_down_from_a_day_on_and_back_up_from_another(self, part: Part, still_clock: StillClock) -> None:
        _, second = two_lots(part, still_clock)
        days = [today()]
        write_down(second, unit_milli=5_000)
        still_clock.forward(days=1)
        days.append(today())
        write_down(second, unit_milli=20_000, reason="asked for again")
        assert [value_on(day).total.taken_milli for day in days] == [150_000, 300_000]
        assert value_on(days[0] - timedelta(days=1)).total.taken_milli == 100_000

    def test_a_past_years_end_can_be_judged_later(self, part: Part, still_clock: StillClock) -> None:
        lot, _ = two_lots(part, still_clock)
        then = today()
        still_clock.forward(days=40)
        write_down(lot, unit_milli=0, from_on=then)
        assert value_on(then).total.taken_milli == 200_000

    def test_back_up_means_cost_unless_the_list_price_is_lower(self, part: Part, still_clock: StillClock) -> None:
        _, second = two_lots(part, still_clock)
        price(part, 15)
        write_down(second, unit_milli=20_000)
        assert value_on(today()).total.taken_milli == 250_000

    def test_an_individual_brings_its_lots_write_down_along_but_none_made_after(
        self, part: Part, still_clock: StillClock
    ) -> None:
        lot = a_lot(part, 10, unit_cost_milli=20_000)
        early = set_apart(lot, mark="V1")
        still_clock.forward(days=1)
        write_down(lot, unit_milli=5_000)
        still_clock.forward(days=1)
        late = set_apart(lot, mark="V2")
        taken = {one.lot.pk: one.taken_milli for one in value_on(today()).lots}
        assert taken == {lot.pk: 8 * 5_000, early.pk: 20_000, late.pk: 5_000}

    def test_blocked_lots_are_asked_about_until_they_are_written_down(self, part: Part) -> None:
        lot = a_lot(part, 10)
        services.block_lot(lot, "leaky out of the bag")
        assert [one.lot for one in value_on(today()).blocked] == [lot]
        write_down(lot, unit_milli=0)
        assert value_on(today()).blocked == []

    def test_used_valves_above_half_of_an_unused_one_are_asked_about(self, db: None, still_clock: StillClock) -> None:
        a_profile()
        valve = a_part("12SK7", Kind.VALVE)
        a_lot(valve, 1, unit_cost_milli=800_000)
        dear = a_lot(valve, 2, unit_cost_milli=400_001, condition=Condition.USED)
        a_lot(valve, 2, unit_cost_milli=400_000, condition=Condition.USED)
        lying = [(one.lot, one.on_hand, one.taken_unit_milli) for one in value_on(today()).lots]
        assert [(one.lot, one.half_milli) for one in used_above_half(lying, today())] == [(dear, 400_000)]


@pytest.mark.parametrize("count", [1, 50, 500])
def test_the_number_of_queries_does_not_grow(count: int, db: None, django_assert_num_queries: Any) -> None:
    a_profile()
    for n in range(count):
        a_lot(a_part(f"{n + 10}K 1/2W", Kind.RESISTOR), 2)
    with django_assert_num_queries(7):
        assert len(value_on(today()).parts) == count
