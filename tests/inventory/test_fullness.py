"""How full the cabinets are: pieces, their cost, and what is short of its minimum, each in the place where it lies."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory import services
from inventory.models import Lot
from inventory.queries.fullness import CabinetFill, Fill, fill_of_cabinets
from shop.clock import now
from shop.tabular import read_csv
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff

pytestmark = pytest.mark.django_db


def cabinet(name: str = "A") -> CabinetFill:
    return next(one for one in fill_of_cabinets() if one.name == name)


def kinds(fill: Fill) -> tuple[int, int, int]:
    return fill.kept, fill.short, fill.plain


def test_a_drawer_holds_pieces_that_cost_something() -> None:
    a_lot(a_part(), 10, unit_cost_milli=20_400)
    a_lot(a_part("220 kΩ 1 W", "resistance"), 5, drawer=a_drawer("A", "2"), unit_cost_milli=1_250)
    first, second = cabinet().drawers
    assert (first.name, first.pieces, first.cost_minor) == ("1", 10, 204)
    assert (second.name, second.pieces, second.cost_minor) == ("2", 5, 6)
    assert (cabinet().whole.pieces, cabinet().whole.cost_milli, cabinet().whole.drawers) == (15, 210_250, 2)


def test_held_pieces_are_told_from_free_ones() -> None:
    lot = a_lot(a_part(), 10)
    services.hold(lot, a_drawer(), 4, reference="J-1", person=a_staff(), at=now())
    (drawer,) = cabinet().drawers
    assert (drawer.free, drawer.held) == (6, 4)


def test_a_kind_is_kept_short_or_without_a_minimum() -> None:
    a_lot(a_part(minimum=10), 10)
    a_lot(a_part("0.1 µF 630 V", minimum=11), 10)
    a_lot(a_part("0.22 µF 630 V"), 10)
    assert kinds(cabinet().whole) == (1, 1, 1)


def test_pieces_in_two_drawers_keep_one_minimum_and_blocked_ones_keep_none() -> None:
    part = a_part(minimum=10)
    a_lot(part, 6)
    second = a_lot(part, 4, drawer=a_drawer("A", "2"))
    assert [kinds(one) for one in cabinet().drawers] == [(1, 0, 0), (1, 0, 0)]
    Lot.objects.filter(pk=second.pk).update(blocked_reason="leaky out of the bag")
    assert [kinds(one) for one in cabinet().drawers] == [(0, 1, 0), (0, 1, 0)]


def test_what_has_run_out_is_short_where_its_last_piece_lay() -> None:
    part = a_part(minimum=2)
    a_lot(part, 3)
    lot = a_lot(part, 3, drawer=a_drawer("A", "2"))
    for one in Lot.objects.all():
        drawer = a_drawer("A", "2") if one == lot else a_drawer()
        services.scrap(one, drawer, 3, reason="wet", person=a_staff(), at=now())
    assert [kinds(one) for one in cabinet().drawers] == [(0, 0, 0), (0, 1, 0)]
    part.in_use = False
    part.save()
    assert [kinds(one) for one in cabinet().drawers] == [(0, 0, 0), (0, 0, 0)]


def test_many_drawers_ask_no_more_questions_than_one() -> None:
    a_lot(a_part(), 10)
    with CaptureQueriesContext(connection) as one:
        fill_of_cabinets()
    for number in range(5):
        a_lot(a_part(f"{number + 1} µF 63 V"), 10, drawer=a_drawer("B", str(number)))
    with CaptureQueriesContext(connection) as many:
        fill_of_cabinets()
    assert len(many) == len(one) == 3


class TestThePage:
    def test_what_parts_cost_is_shown_to_the_owner_alone(self, owner_client: Client, counter_client: Client) -> None:
        a_profile()
        a_lot(a_part(), 10)
        titles = {
            name: [chart.title for chart in client.get(reverse("inventory:fullness")).context["charts"]]
            for name, client in (("owner", owner_client), ("counter", counter_client))
        }
        assert titles["owner"] == [*titles["counter"], "What the pieces cost"]
        assert len(titles["counter"]) == 2

    def test_a_cabinet_is_shown_drawer_by_drawer(self, counter_client: Client) -> None:
        a_lot(a_part(), 10, drawer=a_drawer("B", "7", "b"))
        shown = counter_client.get(reverse("inventory:fullness", query={"cabinet": "B"})).content.decode()
        assert "<h1>Cabinet B, drawer by drawer</h1>" in shown
        assert "7 / b" in shown
        assert reverse("inventory:drawer", args=[a_drawer("B", "7", "b").pk]) in shown

    def test_its_drawers_can_be_saved_with_their_cost_by_the_owner_alone(
        self, owner_client: Client, counter_client: Client
    ) -> None:
        a_profile()
        a_lot(a_part(minimum=3), 10)
        address = reverse("inventory:fullness", query={"as": "csv"})
        assert list(read_csv(owner_client.get(address).content))[1] == ["A", "1", "10", "0", "2.00", "GBP", "1", "0", "0"]
        assert list(read_csv(counter_client.get(address).content))[1] == ["A", "1", "10", "0", "1", "0", "0"]

    def test_a_cabinet_of_many_drawers_is_shown_by_tray(self, counter_client: Client) -> None:
        for number in range(41):
            a_drawer("B", str(number // 21), str(number))
        answer = counter_client.get(reverse("inventory:fullness", query={"cabinet": "B"}))
        assert list(answer.context["charts"][0].categories) == ["0", "1"]
        assert "Receive parts into a drawer, and it has a bar." in answer.content.decode()

    def test_a_cabinet_that_is_none_shows_them_all(self, counter_client: Client) -> None:
        a_lot(a_part(), 10)
        shown = counter_client.get(reverse("inventory:fullness", query={"cabinet": "<b>Z"}))
        assert shown.status_code == 200
        assert "<h1>How full the cabinets are</h1>" in shown.content.decode()

    def test_without_a_cabinet_it_teaches(self, counter_client: Client) -> None:
        shown = counter_client.get(reverse("inventory:fullness")).content.decode()
        assert "Make drawers and receive parts into them" in shown

    def test_a_stranger_signs_in_first(self, stranger_client: Client) -> None:
        assert stranger_client.get(reverse("inventory:fullness")).status_code == 302
