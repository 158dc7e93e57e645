"""The owner's pages of the stock's value: what they show, take away as tables, and let be written down."""

import io
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory import services
from inventory.models import Kind, Lot, Writedown
from inventory.queries.turning import dead_lots, moments, turns_between
from inventory.queries.valuing import end_of
from shop.clock import now, today
from shop.tabular import read_csv, read_xlsx
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff, a_supplier
from tests.conftest import StillClock
from tests.inventory.builders import errors_of, once, post, texts
from tests.inventory.test_stock_value import take, write_down


@pytest.fixture(autouse=True)
def _shop(db: None, still_clock: StillClock) -> None:
    a_profile()


def page(client: Client, name: str, query: str = "") -> str:
    answer = client.get(reverse(f"inventory:{name}") + query)
    assert answer.status_code == 200
    return texts(answer)


class TestValueOnADay:
    def test_shows_each_way_of_costing_by_kind_and_by_part(self, owner_client: Client, still_clock: StillClock) -> None:
        part = a_part()
        a_lot(part, 10, unit_cost_milli=10_000)
        still_clock.forward(days=1)
        take(a_lot(part, 10, unit_cost_milli=20_000), 8)
        a_lot(a_part("12SK7", Kind.VALVE, list_price_minor=500), 1, unit_cost_milli=800_000)
        text = page(owner_client, "stock_value")
        for words in ("£9.40", "£10.20", "£9.80", "£5.00", "£6.40", "below cost", "12SK7", "Capacitor", "Valve"):
            assert words in text

    def test_shows_a_past_day_and_leads_to_the_last_years_end(self, owner_client: Client, still_clock: StillClock) -> None:
        a_lot(a_part(), 10, at=now() - timedelta(days=100))
        a_lot(a_part("12SK7", Kind.VALVE), 1)
        text = page(owner_client, "stock_value")
        assert "?day=2025-12-31" in text
        assert "12SK7" in text
        assert "12SK7" not in page(owner_client, "stock_value", "?day=2025-12-31")
        assert "Nothing lay in a drawer at the end of" in page(owner_client, "stock_value", "?day=2020-12-31")
        assert "Nothing of this kind lay" in page(owner_client, "stock_value", "?kind=lamp")

    def test_an_empty_shop_is_told_what_comes_first(self, owner_client: Client) -> None:
        assert "The drawers are empty" in page(owner_client, "stock_value")

    @pytest.mark.parametrize(
        ("query", "text"),
        [
            ("?day=2099-01-01", "That day is still to come. Choose one up to today."),
            ("?day=1066-10-14", "No stock was kept here as long ago as that."),
            ("?day=yesterday", "That is no date we can read. Type it like 2025-03-14."),
            ("?kind=gramophone", "Select a valid choice. gramophone is not one of the available choices."),
        ],
    )
    def test_what_cant_be_read_is_said_and_today_is_shown(self, query: str, text: str, owner_client: Client) -> None:
        a_lot(a_part())
        shown = page(owner_client, "stock_value", query)
        assert text in shown
        assert "0.01 µF 630 V" in shown

    def test_asks_about_blocked_lots_and_used_valves(self, owner_client: Client) -> None:
        lot, valve = a_lot(a_part()), a_part("12SK7", Kind.VALVE)
        services.block_lot(lot, "leaky out of the bag")
        a_lot(valve, 1, unit_cost_milli=800_000)
        used = a_lot(valve, 1, unit_cost_milli=700_000, condition="used")
        text = page(owner_client, "stock_value")
        assert "leaky out of the bag" in text
        assert "half of an unused one at most, £4.00 here (common practice, no source)" in text
        assert reverse("inventory:write_down", args=[used.pk]) in text

    @pytest.mark.parametrize("count", [1, 50, 500])
    def test_asks_as_often_for_many_parts_as_for_one(
        self, count: int, owner_client: Client, django_assert_max_num_queries: Any
    ) -> None:
        for n in range(count):
            a_lot(a_part(f"{n + 10}K 1/2W", Kind.RESISTOR), 2)
        for name, most in (("stock_value", 17), ("stock_turns", 10), ("dead_stock", 12)):
            with django_assert_max_num_queries(most):
                page(owner_client, name)


class TestTables:
    def rows(self) -> list[list[Any]]:
        part = a_part(description="=HYPERLINK(1)")
        a_lot(part, 3, unit_cost_milli=333)
        return [
            ["Part", "Kind", "On hand", "Cost by lot", "Cost by FIFO", "Cost by weighted average", "Would fetch", "Value taken"],
            [part.title, "Capacitor", "3", "0.01", "0.01", "0.01", "0.03", "0.01"],
            ["Total", "", "3", "0.01", "0.01", "0.01", "0.03", "0.01"],
        ]

    def test_csv_reads_back_as_it_was_written(self, owner_client: Client) -> None:
        rows = self.rows()
        answer = owner_client.get(reverse("inventory:stock_value_csv"))
        assert answer["Content-Type"] == "text/csv; charset=utf-8"
        assert answer["Content-Disposition"] == 'attachment; filename="stock-value-2026-03-02.csv"'
        assert list(read_csv(answer.content)) == rows

    def test_a_workbook_holds_numbers(self, owner_client: Client) -> None:
        rows = self.rows()
        answer = owner_client.get(reverse("inventory:stock_value_xlsx") + "?day=2026-03-02")
        found = list(read_xlsx(answer.content))
        assert found[0] == rows[0]
        assert found[1] == [rows[1][0], "Capacitor", 3, 0.01, 0.01, 0.01, 0.03, 0.01]
        assert io.BytesIO(answer.content).read(2) == b"PK"

    def test_lot_by_lot_tells_what_each_fetches_and_why(self, owner_client: Client) -> None:
        lot = a_lot(a_part(), 4, unit_cost_milli=12_500)
        write_down(lot, unit_milli=5_000, reason="seals dried out")
        rows = list(read_csv(owner_client.get(reverse("inventory:stock_value_csv") + "?by=lot").content))
        assert rows[1][0] == str(lot.pk)
        assert rows[1][3:] == [
            "2026-03-02",
            "new",
            "",
            "4",
            "0.12500",
            "0.50",
            "0.05000",
            "written down: seals dried out",
            "0.20",
        ]


class TestWritingDown:
    def send(self, client: Client, lot: Lot, **typed: Any) -> Any:
        usual = {"unit": "0.05", "from_on": "2026-03-02", "reason": "nobody buys them", "seen": services.writedown_seen(lot)}
        return post(client, "inventory:write_down", lot.pk, **{**usual, **typed})

    def test_down_and_back_up_again_each_with_its_reason(self, owner_client: Client) -> None:
        lot = a_lot(a_part())
        assert self.send(owner_client, lot).status_code == 302
        address = reverse("inventory:write_down", args=[lot.pk])
        shown = texts(owner_client.get(address))
        assert "£0.05 each, 10 on hand: £0.50" in shown
        assert "written down: nobody buys them" in shown
        assert 'value="0.20"' in owner_client.get(address + "?back").content.decode()
        assert self.send(owner_client, lot, unit="0.20", reason="asked for again").status_code == 302
        shown = texts(owner_client.get(address))
        assert "back up" in shown
        assert "£0.20 each, 10 on hand: £2.00" in shown
        assert [one.unit_milli for one in Writedown.objects.all()] == [5_000, 20_000]

    @pytest.mark.parametrize(
        ("typed", "field", "text"),
        [
            (
                {"unit": "0.21"},
                "unit",
                "One of this lot cost £0.20, and stock is never valued above its cost. Type that or less.",
            ),
            ({"unit": ""}, "unit", "This field is required."),
            ({"unit": "much"}, "unit", "“much” can't be read as a sum. Type it like 12.50."),
            ({"unit": "-0.01"}, "unit", "A cost can't be below zero."),
            ({"reason": " "}, "reason", "This field is required."),
            ({"from_on": "2026-03-03"}, "from_on", "That day is still to come. Write the lot down when it is there."),
            ({"from_on": "2026-03-01"}, "from_on", "The lot came in later than that. Choose a day from when it was here."),
            ({"from_on": "tomorrow"}, "from_on", "That is no date we can read. Type it like 2025-03-14."),
        ],
    )
    def test_bad_input_is_refused_and_kept(self, typed: dict[str, str], field: str, text: str, owner_client: Client) -> None:
        lot = a_lot(a_part())
        answer = self.send(owner_client, lot, **typed)
        assert answer.status_code == 422
        assert errors_of(answer)[field] == [text]
        assert not Writedown.objects.exists()

    def test_sent_twice_it_is_written_once(self, owner_client: Client) -> None:
        lot, token = a_lot(a_part()), once()
        for _ in range(2):
            assert self.send(owner_client, lot, once=token).status_code == 302
        assert Writedown.objects.count() == 1

    def test_the_second_of_two_is_told(self, owner_client: Client) -> None:
        lot = a_lot(a_part())
        seen = services.writedown_seen(lot)
        self.send(owner_client, lot)
        answer = self.send(owner_client, lot, unit="0.03", seen=seen)
        assert answer.status_code == 422
        expected = "Somebody else wrote this lot down or up since you opened it. Compare, then send again."
        assert errors_of(answer)["__all__"] == [expected]
        assert "£0.05</strong> each from" in texts(answer)
        assert self.send(owner_client, lot, unit="0.03").status_code == 302

    def test_it_is_the_owners(self, colleague_client: Client, stranger_client: Client) -> None:
        lot = a_lot(a_part())
        assert self.send(colleague_client, lot).status_code == 403
        assert self.send(stranger_client, lot).status_code == 302
        assert not Writedown.objects.exists()


class TestTurns:
    def test_are_the_cost_of_what_was_fitted_over_the_average_stock(self, still_clock: StillClock) -> None:
        """Own arithmetic: 13 at 0.10 for the whole of a period, all fitted at its last moment but one: 13 of 13 moments lie."""
        part = a_part()
        lot = a_lot(part, 13, unit_cost_milli=10_000, at=now() - timedelta(days=40))
        first, last = today() - timedelta(days=11), today()
        still_clock.now = end_of(last) - timedelta(minutes=1)
        take(lot, 13)
        found = turns_between(first, last).total
        assert (found.fitted_milli, found.average_milli) == (130_000, 120_000)
        assert found.turns is not None
        assert float(found.turns) == pytest.approx(13 / 12)

    def test_what_was_taken_out_again_was_not_fitted(self, still_clock: StillClock) -> None:
        lot = a_lot(a_part(), 5)
        services.put_back(take(lot, 3), reason="wrong", reference="J", person=a_staff(), at=now())
        services.scrap(lot, a_drawer(), 1, reason="cracked", person=a_staff(), at=now())
        assert turns_between(today(), today()).total.fitted_milli == 0

    def test_the_moments_lie_evenly_from_the_first_to_the_last(self) -> None:
        found = moments(date(2026, 1, 1), date(2026, 12, 31))
        assert (len(found), found[0], found[-1]) == (13, end_of(date(2025, 12, 31)), end_of(date(2026, 12, 31)))
        assert {after - before for before, after in pairwise(found)} == {timedelta(days=365) / 12}

    def test_the_page_takes_a_period(self, owner_client: Client, still_clock: StillClock) -> None:
        lot = a_lot(a_part(), 10, at=now() - timedelta(days=500))
        take(lot, 2)
        assert "£0.40" in page(owner_client, "stock_turns")
        assert "£0.40" not in page(owner_client, "stock_turns", "?first=2025-01-01&last=2025-12-31")
        assert "Nothing lay in a drawer" in page(owner_client, "stock_turns", "?first=2020-01-01&last=2020-12-31")
        swapped = page(owner_client, "stock_turns", "?first=2026-01-02&last=2026-01-01")
        assert "The period ends before it begins. Swap the two days." in swapped
        assert "£0.40" in swapped

    def test_an_empty_shop_has_none(self, owner_client: Client) -> None:
        assert "Nothing lay in a drawer and nothing was fitted" in page(owner_client, "stock_turns")


class TestDeadStock:
    def test_is_what_lay_long_enough_without_its_part_being_fitted(self, still_clock: StillClock) -> None:
        dead, alive, young = a_part(), a_part("12SK7", Kind.VALVE), a_part("EL84", Kind.VALVE)
        for part in (dead, alive):
            a_lot(part, 2, at=now() - timedelta(days=400))
        a_lot(alive, 2, at=now() - timedelta(days=390))
        a_lot(young, 2, at=now() - timedelta(days=364))
        take(Lot.objects.filter(part=alive).first())
        found = dead_lots(today(), 365)
        assert [(one.lot.part, one.on_hand, one.age_days, one.last_fitted_on) for one in found] == [(dead, 2, 400, None)]
        still_clock.forward(days=366)
        assert {one.lot.part for one in dead_lots(today(), 365)} == {dead, alive, young}

    def test_what_can_still_go_back_stands_first_then_the_dearest(self, owner_client: Client) -> None:
        when = now() - timedelta(days=40)
        over = a_lot(a_part("EL84", Kind.VALVE), 1, unit_cost_milli=900_000, at=when, supplier=a_supplier(return_days=14))
        still = a_lot(a_part(), 1, at=when, supplier=a_supplier("Bakelite Bros", return_days=60))
        never = a_lot(a_part("12SK7", Kind.VALVE), 1, unit_cost_milli=300_000, at=when)
        assert [one.lot for one in dead_lots(today(), 30)] == [still, over, never]
        text = page(owner_client, "dead_stock", "?days=30")
        for words in ("Open</span> until", "Bakelite Bros", "Over</span> since", "can’t go back", "40 days", "£12.20"):
            assert words in text

    def test_used_up_lots_are_not_dead_and_moved_ones_count_once(self) -> None:
        when = now() - timedelta(days=40)
        lot, gone = a_lot(a_part(), 4, at=when), a_lot(a_part("EL84", Kind.VALVE), 1, at=when)
        services.scrap(gone, a_drawer(), 1, reason="cracked", person=a_staff(), at=now())
        services.transfer(lot, a_drawer(), a_drawer("B"), 2, person=a_staff(), at=now())
        assert [(one.lot, one.on_hand) for one in dead_lots(today(), 30)] == [(lot, 4)]

    def test_an_unknown_choice_is_said_and_the_usual_shown(self, owner_client: Client) -> None:
        assert "No lot has lain for 365 days" in page(owner_client, "dead_stock")
        assert "Select a valid choice" in page(owner_client, "dead_stock", "?days=7")
