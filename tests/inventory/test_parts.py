"""The list of parts: found by words and by value, whichever way it is written; stock never multiplied by joins."""

import pytest
from django.test import Client
from django.urls import reverse

from inventory import services
from inventory.models import Kind, Part
from inventory.queries.parts import parts_matching
from shop.clock import now
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff, a_supplier
from tests.inventory.builders import post, texts

pytestmark = pytest.mark.django_db


@pytest.fixture
def shelf() -> dict[str, Part]:
    a_profile()
    return {
        "film": a_part("0.047 µF 630 V"),
        "mica": a_part("47 pF 500 V", technology="mica"),
        "resistor": a_part("4.7 kΩ 1/2 W", Kind.RESISTOR),
        "valve": a_part("12SK7", Kind.VALVE),
        "safety": a_part("4.7 nF 250 V X1/Y2", technology="ceramic"),
    }


def found(client: Client, shelf: dict[str, Part], **asked: str) -> set[str]:
    rows = client.get(reverse("inventory:parts"), asked).context["table"].data
    names = {part.pk: name for name, part in shelf.items()}
    return {names[part.pk] for part in rows}


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        (".047", {"film"}),
        (".05 MFD", {"film"}),
        ("47n", {"film"}),
        ("4K7", {"resistor"}),
        ("4700 ohm", {"resistor"}),
        ("47 MMF", {"mica"}),
        ("12sk7", {"valve"}),
        ("mica", {"mica"}),
        ("4n7", {"safety"}),
        ("no such thing", set()),
        ("9" * 500, set()),
    ],
)
def test_a_part_is_found_by_value_and_by_words(
    typed: str, wanted: set[str], shelf: dict[str, Part], owner_client: Client
) -> None:
    assert found(owner_client, shelf, q=typed) == wanted


def test_a_doubtful_value_finds_the_parts_of_every_reading(shelf: dict[str, Part]) -> None:
    assert set(parts_matching("47")) >= {shelf["mica"]}


def test_filters_narrow_by_kind_make_and_safety_class(shelf: dict[str, Part], owner_client: Client) -> None:
    assert found(owner_client, shelf, kind="capacitance") == {"film", "mica", "safety"}
    assert found(owner_client, shelf, technology="film") == {"film"}
    assert found(owner_client, shelf, safety_class="y2") == {"safety"}


def test_what_lies_in_a_drawer_and_what_runs_out(shelf: dict[str, Part], owner_client: Client) -> None:
    a_lot(shelf["film"], count=3)
    Part.objects.filter(pk=shelf["film"].pk).update(minimum=4)
    Part.objects.filter(pk=shelf["mica"].pk).update(in_use=False)
    assert found(owner_client, shelf, show="here") == {"film"}
    assert found(owner_client, shelf, show="low") == {"film"}
    assert found(owner_client, shelf, show="unused") == {"mica"}
    assert "mica" not in found(owner_client, shelf, usual="1")


def stocked() -> Part:
    """Two lots in two drawers each, one piece of each lot held."""
    part = a_part()
    for tray in ("1", "2"):
        first, second = a_drawer("A", tray), a_drawer("B", tray)
        lot = a_lot(part, count=10, drawer=first, supplier=a_supplier())
        services.transfer(lot, first, second, 4, person=a_staff(), at=now())
        services.hold(lot, second, 1, reference="J-1", person=a_staff(), at=now())
    return part


def test_stock_is_summed_over_lots_and_drawers_once() -> None:
    counted = Part.objects.filter(pk=stocked().pk).with_stock()
    assert list(counted.values_list("on_hand", "held", "free")) == [(20, 2, 18)]  # type: ignore[misc]


def test_a_join_beside_it_does_not_multiply_the_sum() -> None:
    stocked()
    joined = Part.objects.filter(lots__supplier__name="Ferrule & Daughters").with_stock().distinct()
    assert list(joined.values_list("on_hand", "held", "free")) == [(20, 2, 18)]  # type: ignore[misc]


def test_the_list_shows_drawers_and_the_price_of_the_oldest_lot_in_one(owner_client: Client) -> None:
    a_profile()
    part = a_part()
    used_up = a_lot(part, count=1, unit_cost_milli=900_000)
    services.scrap(used_up, a_drawer(), 1, reason="cracked", person=a_staff(), at=now())
    a_lot(part, unit_cost_milli=20_000)
    a_lot(part, unit_cost_milli=70_000, drawer=a_drawer("B"))
    page = texts(owner_client.get(reverse("inventory:parts")))
    # 0.20 x 300 %, the first rung of the default ladder
    assert "£0.60" in page
    assert "A / 1" in page
    assert "B / 1" in page


def test_a_list_price_wins_over_cost(owner_client: Client) -> None:
    a_profile()
    lot = a_lot(a_part("12SK7", Kind.VALVE, list_price_minor=1850))
    assert "£18.50" in texts(owner_client.get(reverse("inventory:parts")))
    assert "list price" in texts(owner_client.get(reverse("inventory:part", args=[lot.part_id])))


def test_a_hold_can_be_let_go_once(colleague_client: Client) -> None:
    a_profile()
    lot = a_lot()
    held = services.hold(lot, a_drawer(), 3, reference="J-2026-0007", person=a_staff(), at=now())
    page = texts(colleague_client.get(reverse("inventory:part", args=[lot.part_id])))
    assert "J-2026-0007" in page
    first = post(colleague_client, "inventory:hold_let_go", held.pk)
    assert first.status_code == 302
    assert lot.balances.get().held == 0
    again = post(colleague_client, "inventory:hold_let_go", held.pk)
    assert again.status_code == 409
    assert "This hold has ended already." in texts(again)
