"""A drawer is counted before the ledger's figure shows; what differs is booked with a reason, what moved is counted again."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory import services as stock
from inventory.models import Drawer, DrawerCount, Lot, Movement
from inventory.queries.counts import lines_of, longest_uncounted, worth_milli
from shop.acts import Refused, Stale
from shop.models import Staff
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff
from tests.conftest import MONDAY
from tests.inventory.builders import once, post, texts

pytestmark = pytest.mark.django_db


@pytest.fixture
def drawer(db: None) -> Drawer:
    a_profile()
    return a_drawer("C", "4")


@pytest.fixture
def lots(drawer: Drawer) -> tuple[Lot, Lot]:
    return (
        a_lot(a_part("0.047 µF 630 V"), 10, drawer, at=MONDAY),
        a_lot(a_part("100 pF 500 V", technology="mica"), 7, drawer, at=MONDAY),
    )


@pytest.fixture
def person(db: None) -> Staff:
    return a_staff()


def begun(drawer: Drawer, person: Staff) -> DrawerCount:
    return stock.open_count(drawer, person=person, at=MONDAY)


def test_a_drawer_has_one_open_count(drawer: Drawer, lots: Any, person: Staff) -> None:
    first, second = begun(drawer, person), begun(drawer, person)
    assert first == second
    assert {line.line.lot for line in lines_of(first)} == set(lots)


def test_variances_are_booked_with_their_reasons_and_what_agrees_moves_nothing(
    drawer: Drawer, lots: tuple[Lot, Lot], person: Staff
) -> None:
    count = begun(drawer, person)
    assert stock.enter(count, {lots[0].pk: 8, lots[1].pk: 7}, at=MONDAY) == 0
    count.refresh_from_db()
    assert sorted(line.variance for line in lines_of(count)) == [-2, 0]
    assert worth_milli(lines_of(count)) == -40_000  # 2 at 0.20
    (moved,) = stock.book_count(count, {lots[0].pk: "fell through"}, person=person, at=MONDAY)
    assert (moved.count, moved.kind, moved.reason) == (-2, "counted", "fell through")
    assert [lot.balances.get().on_hand for lot in lots] == [8, 7]
    with pytest.raises(Stale, match="was booked or dropped already"):
        stock.book_count(count, {}, person=person, at=MONDAY)


def test_a_variance_without_a_reason_books_nothing(drawer: Drawer, lots: tuple[Lot, Lot], person: Staff) -> None:
    count = begun(drawer, person)
    stock.enter(count, {lots[0].pk: 8, lots[1].pk: 9}, at=MONDAY)
    with pytest.raises(Refused, match=f"Say why the count of lot {lots[1].pk} differs."):
        stock.book_count(count, {lots[0].pk: "fell through"}, person=person, at=MONDAY)
    assert not Movement.objects.filter(kind="counted").exists()


def test_what_moved_while_it_was_counted_is_counted_once_more(drawer: Drawer, lots: tuple[Lot, Lot], person: Staff) -> None:
    count = begun(drawer, person)
    stock.take(lots[0], drawer, 1, reference="J", person=person, at=MONDAY)
    assert stock.enter(count, {lots[0].pk: 10, lots[1].pk: 7}, at=MONDAY) == 1
    count.refresh_from_db()
    assert count.counted_at is None
    assert {line.line.counted for line in lines_of(count)} == {None, 7}
    assert stock.enter(count, {lots[0].pk: 9}, at=MONDAY) == 0


def test_what_came_in_while_it_was_counted_joins_the_list(drawer: Drawer, lots: tuple[Lot, Lot], person: Staff) -> None:
    count = begun(drawer, person)
    late = a_lot(a_part("1 µF 400 V"), 3, drawer, at=MONDAY)
    assert stock.enter(count, {lots[0].pk: 10, lots[1].pk: 7}, at=MONDAY) == 1
    assert stock.enter(count, {late.pk: 3}, at=MONDAY) == 0


def test_what_moved_between_counting_and_booking_is_told_and_nothing_booked(
    drawer: Drawer, lots: tuple[Lot, Lot], person: Staff
) -> None:
    count = begun(drawer, person)
    stock.enter(count, {lots[0].pk: 9, lots[1].pk: 7}, at=MONDAY)
    stock.take(lots[0], drawer, 1, reference="J", person=person, at=MONDAY)
    with pytest.raises(Stale, match=f"Parts of lot {lots[0].pk} came or went since it was counted."):
        stock.book_count(count, {lots[0].pk: "gone"}, person=person, at=MONDAY)
    assert not Movement.objects.filter(kind="counted").exists()
    stock.count_again(count, {lots[0].pk})
    assert stock.enter(count, {lots[0].pk: 9}, at=MONDAY) == 0
    assert stock.book_count(count, {}, person=person, at=MONDAY) == []


def test_a_lot_found_where_the_ledger_has_none_is_booked_in(drawer: Drawer, lots: tuple[Lot, Lot], person: Staff) -> None:
    stray = a_lot(a_part("1 µF 400 V"), 3, a_drawer("D", "1"), at=MONDAY)
    count = begun(drawer, person)
    stock.add_found(count, stray)
    with pytest.raises(Refused, match="is on the list already"):
        stock.add_found(count, stray)
    stock.enter(count, {lots[0].pk: 10, lots[1].pk: 7, stray.pk: 1}, at=MONDAY)
    (moved,) = stock.book_count(count, {stray.pk: "in the wrong drawer"}, person=person, at=MONDAY)
    assert (moved.lot, moved.drawer, moved.count) == (stray, drawer, 1)


def test_parts_held_for_jobs_cant_be_counted_away(drawer: Drawer, lots: tuple[Lot, Lot], person: Staff) -> None:
    stock.hold(lots[0], drawer, 4, reference="J", person=person, at=MONDAY)
    count = begun(drawer, person)
    stock.enter(count, {lots[0].pk: 3, lots[1].pk: 7}, at=MONDAY)
    with pytest.raises(Refused, match=f"Lot {lots[0].pk}: 4 of these are held for jobs"):
        stock.book_count(count, {lots[0].pk: "gone"}, person=person, at=MONDAY)


def test_of_two_at_one_count_the_second_is_told(drawer: Drawer, lots: tuple[Lot, Lot], person: Staff) -> None:
    count = begun(drawer, person)
    seen = count.version
    stock.enter(count, {lots[0].pk: 10}, at=MONDAY, seen=seen)
    with pytest.raises(Stale, match="Somebody else went on with this count"):
        stock.enter(count, {lots[1].pk: 7}, at=MONDAY, seen=seen)


def test_drawers_never_counted_come_first(drawer: Drawer, lots: tuple[Lot, Lot], person: Staff) -> None:
    other = a_drawer("A", "9")
    a_lot(a_part("1 µF 400 V"), 3, other, at=MONDAY)
    count = begun(drawer, person)
    stock.enter(count, {lots[0].pk: 10, lots[1].pk: 7}, at=MONDAY)
    stock.book_count(count, {}, person=person, at=MONDAY)
    assert [one for one, _ in longest_uncounted()] == [other, drawer]


# The pages.


def test_the_ledgers_figures_show_only_after_entry(drawer: Drawer, lots: tuple[Lot, Lot], colleague_client: Client) -> None:
    opened = post(colleague_client, "inventory:count_begin", drawer.pk)
    page = texts(colleague_client.get(opened.headers["Location"]))
    assert "0.047 µF 630 V" in page
    assert "By the ledger" not in page
    assert 'value="10"' not in page
    count = DrawerCount.objects.get()
    typed = {f"lot_{lots[0].pk}": "8", f"lot_{lots[1].pk}": "7", "seen": count.version}
    assert post(colleague_client, "inventory:count_enter", count.pk, **typed).status_code == 302
    page = texts(colleague_client.get(reverse("inventory:counting", args=[count.pk])))
    assert "2 fewer than the ledger says" in page
    assert "By the ledger" in page


def test_a_single_lot_is_counted_blind_too(drawer: Drawer, lots: tuple[Lot, Lot], colleague_client: Client) -> None:
    page = texts(colleague_client.get(reverse("inventory:count", args=[lots[0].pk, drawer.pk])))
    assert "On hand by the ledger" not in page


def test_a_bad_count_keeps_what_was_typed(drawer: Drawer, lots: tuple[Lot, Lot], colleague_client: Client, person: Staff) -> None:
    count = begun(drawer, person)
    typed = {f"lot_{lots[0].pk}": "8", f"lot_{lots[1].pk}": "-7", "seen": count.version}
    answer = post(colleague_client, "inventory:count_enter", count.pk, **typed)
    assert answer.status_code == 422
    assert 'value="8"' in answer.content.decode()
    assert 'value="-7"' in answer.content.decode()
    assert not count.lots.filter(counted__isnull=False).exists()


def test_booking_twice_books_once(drawer: Drawer, lots: tuple[Lot, Lot], colleague_client: Client, person: Staff) -> None:
    count = begun(drawer, person)
    stock.enter(count, {lots[0].pk: 8, lots[1].pk: 7}, at=MONDAY)
    count.refresh_from_db()
    form = {"once": once(), "seen": count.version, f"why_{lots[0].pk}": "fell through"}
    for _ in range(2):
        assert colleague_client.post(reverse("inventory:count_book", args=[count.pk]), form).status_code == 302
    assert Movement.objects.filter(kind="counted").count() == 1


def test_a_reason_left_out_is_asked_for_at_its_lot(
    drawer: Drawer, lots: tuple[Lot, Lot], colleague_client: Client, person: Staff
) -> None:
    count = begun(drawer, person)
    stock.enter(count, {lots[0].pk: 8, lots[1].pk: 7}, at=MONDAY)
    count.refresh_from_db()
    answer = post(colleague_client, "inventory:count_book", count.pk, seen=count.version)
    assert answer.status_code == 422
    assert answer.context["form"].errors == {f"why_{lots[0].pk}": ["This field is required."]}


def test_a_stale_page_is_told_and_may_send_again(
    drawer: Drawer, lots: tuple[Lot, Lot], colleague_client: Client, person: Staff
) -> None:
    count = begun(drawer, person)
    typed = {f"lot_{lots[0].pk}": "10", f"lot_{lots[1].pk}": "7", "seen": count.version}
    stock.enter(count, {lots[0].pk: 9}, at=MONDAY)
    answer = post(colleague_client, "inventory:count_enter", count.pk, **typed)
    assert answer.status_code == 422
    assert "Somebody else went on with this count" in texts(answer)
    assert 'value="10"' in answer.content.decode()


@pytest.mark.parametrize(("number", "said"), [("999", "There is no lot of that number"), ("x", "Enter a whole number")])
def test_a_stray_lot_that_isnt_there_is_told(
    number: str, said: str, drawer: Drawer, lots: Any, colleague_client: Client, person: Staff
) -> None:
    count = begun(drawer, person)
    answer = post(colleague_client, "inventory:count_found", count.pk, seen=count.version, lot=number)
    assert answer.status_code == 422
    assert said in texts(answer)


def test_a_count_is_dropped_or_begun_anew_by_a_button(
    drawer: Drawer, lots: tuple[Lot, Lot], colleague_client: Client, person: Staff
) -> None:
    count = begun(drawer, person)
    stock.enter(count, {lots[0].pk: 8, lots[1].pk: 7}, at=MONDAY)
    assert post(colleague_client, "inventory:count_again", count.pk).status_code == 302
    assert not count.lots.filter(counted__isnull=False).exists()
    assert post(colleague_client, "inventory:count_drop", count.pk).status_code == 302
    count.refresh_from_db()
    assert not count.is_open
    assert "Nothing was counted yet" in texts(colleague_client.get(reverse("inventory:counts")))


def test_the_counter_looks_and_doesnt_count(drawer: Drawer, lots: Any, counter_client: Client, person: Staff) -> None:
    count = begun(drawer, person)
    assert counter_client.get(reverse("inventory:counting", args=[count.pk])).status_code == 200
    assert post(counter_client, "inventory:count_enter", count.pk, seen=count.version).status_code == 403


def test_the_list_asks_as_often_for_many_counts_as_for_one(
    colleague_client: Client, person: Staff, django_assert_num_queries: Any, drawer: Drawer
) -> None:
    def listed(how_many: int) -> int:
        for number in range(how_many):
            place = a_drawer("L", f"{how_many}-{number}")
            lot = a_lot(a_part(f"{how_many * 100 + number} pF"), 2, place, at=MONDAY)
            count = begun(place, person)
            stock.enter(count, {lot.pk: 1}, at=MONDAY)
            stock.book_count(count, {lot.pk: "gone"}, person=person, at=MONDAY)
        with django_assert_num_queries(QUERIES):
            assert colleague_client.get(reverse("inventory:counts")).status_code == 200
        return how_many

    listed(1)
    listed(30)


# Who asks is two of them, and whether the place they signed in at still stands is one.
QUERIES = 9
