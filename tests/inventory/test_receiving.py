"""Parts come in: which part, how many, at what cost, into which drawer."""

from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Drawer, Kind, Lot, Movement, Part, Supplier
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_supplier
from tests.conftest import StillClock
from tests.inventory.builders import errors_of, lot_form, part_form, texts

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop(still_clock: StillClock) -> None:
    a_profile()
    a_drawer()


def receive(client: Client, part: Part | None = None, **typed: Any) -> Any:
    query = f"?part={part.pk}" if part else "?new=1"
    return client.post(reverse("inventory:receive") + query, lot_form(**typed))


def received(client: Client, part: Part | None = None, **typed: Any) -> Lot:
    answer = receive(client, part or a_part(), **typed)
    assert answer.status_code == 302, errors_of(answer)
    lot = Lot.objects.latest("pk")
    assert answer["Location"] == reverse("inventory:lot", args=[lot.pk])
    return lot


def test_a_lot_keeps_supplier_date_code_class_and_return_window(counter_client: Client) -> None:
    supplier = a_supplier(return_days=30)
    lot = received(counter_client, supplier=supplier.pk, date_code="2541", condition="used", note="from a closed shop")
    assert (lot.supplier, lot.date_code, lot.condition, lot.note) == (supplier, "2541", "used", "from a closed shop")
    assert lot.return_until_on == date(2026, 4, 1)
    assert [(move.kind, move.count) for move in lot.movements.all()] == [("received", 10)]


@pytest.mark.parametrize(
    ("cost", "cost_for", "count", "milli"),
    [
        ("2.00", "all", "10", 20_000),
        ("2.00", "each", "10", 200_000),
        ("10.00", "all", "3", 333_333),
        ("0.0125", "each", "10", 1_250),
        ("0,125", "each", "10", 12_500),
        ("0", "all", "10", 0),
        ("£1,250.00", "all", "1", 125_000_000),
    ],
)
def test_the_cost_is_kept_in_thousandths_of_a_coin(
    cost: str, cost_for: str, count: str, milli: int, colleague_client: Client
) -> None:
    assert received(colleague_client, cost=cost, cost_for=cost_for, count=count).unit_cost_milli == milli


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"count": "0"}, "count", "The count must be at least 1."),
        ({"count": "-4"}, "count", "The count must be at least 1."),
        ({"count": "1000001"}, "count", "The count is above 100,000; check for a slip of the finger."),
        ({"count": "9" * 60}, "count", "The count is above 100,000; check for a slip of the finger."),
        ({"count": "ten"}, "count", "Enter a whole number."),
        ({"cost": "-1"}, "cost", "A cost can't be below zero."),
        ({"cost": "cheap"}, "cost", "“cheap” can't be read as a sum. Type it like 12.50."),
        ({"cost": "1.250", "cost_for": "each"}, "cost", "“1.250” has more than 2 decimals; GBP has 2."),
        ({"cost": ""}, "cost", "This field is required."),
        ({"received_on": "2026-05-01"}, "received_on", "The day of receipt lies in the future."),
        ({"received_on": "yesterday"}, "received_on", "That is no date we can read. Type it like 2025-03-14."),
        ({"drawer": ""}, "drawer", "Say which drawer they go into."),
        (
            {"drawer": "Z / 9"},
            "drawer",
            "There is no drawer “Z / 9”. Check the code on its label, or make the drawer first.",
        ),
        ({"cabinet": "B", "tray": "1"}, "cabinet", "Choose a drawer there is, or name a new one; not both."),
        ({"drawer": "", "cabinet": "B"}, "tray", "A new drawer needs a cabinet and a tray."),
        ({"drawer": "", "cabinet": "A", "tray": "1"}, "cabinet", "There is a drawer A / 1 already."),
        (
            {"drawer": "", "cabinet": "A/1", "tray": "1"},
            "cabinet",
            "Leave the stroke out: it parts cabinet, tray and compartment.",
        ),
        ({"supplier": "999"}, "supplier", "Select a valid choice. That choice is not one of the available choices."),
    ],
)
def test_bad_input_is_refused_in_words_and_nothing_comes_in(
    typed: dict[str, str], field: str, text: str, colleague_client: Client
) -> None:
    answer = receive(colleague_client, a_part(), **typed)
    assert answer.status_code == 422
    assert errors_of(answer)[field][0] == text
    assert not Lot.objects.exists()
    assert Drawer.objects.count() == 1


@pytest.mark.parametrize("code", ["A / 1", "a/1", "A /1 "])
def test_a_drawer_is_known_by_its_code_however_it_is_spaced(code: str, colleague_client: Client) -> None:
    lot = received(colleague_client, drawer=code)
    assert lot.balances.get().drawer.code == "A / 1"


def test_a_new_drawer_is_made_as_parts_go_into_it(colleague_client: Client) -> None:
    lot = received(colleague_client, drawer="", cabinet="B", tray="2", compartment="front")
    assert lot.balances.get().drawer.code == "B / 2 / front"


def test_a_new_part_is_written_down_with_its_first_lot(colleague_client: Client) -> None:
    answer = receive(colleague_client, **part_form(marking="12SK7", kind="valve", technology=""))
    assert answer.status_code == 302, errors_of(answer)
    lot = Lot.objects.get()
    assert (lot.part.marking, lot.part.kind) == ("12SK7", Kind.VALVE)


def test_where_the_lot_is_refused_no_card_is_left_behind(colleague_client: Client) -> None:
    answer = receive(colleague_client, **part_form(marking="12SK7", kind="valve", technology=""), count="0")
    assert answer.status_code == 422
    assert not Part.objects.exists()


def test_the_form_sent_twice_brings_in_one_lot(colleague_client: Client) -> None:
    url, form = f"{reverse('inventory:receive')}?part={a_part().pk}", lot_form()
    first, second = colleague_client.post(url, form), colleague_client.post(url, form)
    assert first["Location"] == second["Location"]
    assert Movement.objects.count() == 1
    assert "That form had already been sent" in texts(colleague_client.get(second["Location"]))


def test_the_page_first_asks_which_part(colleague_client: Client) -> None:
    a_part("0.047 µF 630 V")
    page = texts(colleague_client.get(reverse("inventory:receive"), {"q": "47n"}))
    assert "0.047 µF 630 V film" in page
    assert "More of this came in" in page


def test_more_of_a_part_starts_from_where_it_lies_and_who_it_came_from(colleague_client: Client) -> None:
    supplier = a_supplier()
    lot = a_lot(drawer=a_drawer("C", "3"), supplier=supplier)
    form = colleague_client.get(reverse("inventory:receive"), {"part": lot.part_id}).context["form"]
    assert 'value="C / 3"' in str(form["drawer"])
    assert form["supplier"].value() == supplier.pk


def test_the_next_part_of_a_delivery_keeps_its_supplier_and_day(colleague_client: Client) -> None:
    supplier = Supplier.objects.create(name="Ohm & Sons")
    asked = {"new": "1", "supplier": str(supplier.pk), "received_on": "2026-02-27"}
    page = colleague_client.get(reverse("inventory:receive"), asked).content.decode()
    assert f'<option value="{supplier.pk}" selected>' in page
    assert 'value="2026-02-27"' in page


@pytest.mark.parametrize("asked", ["0", "abc", "9" * 40])
def test_more_of_a_part_that_has_no_card_is_no_page(asked: str, colleague_client: Client) -> None:
    assert colleague_client.get(reverse("inventory:receive"), {"part": asked}).status_code == 404
