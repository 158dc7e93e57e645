"""Cabinets, drawers, their labels; suppliers."""

from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from inventory.models import Drawer, Supplier
from inventory.queries import drawers as drawer_queries
from inventory.queries.drawers import cabinets
from inventory.services import drawer_seen, supplier_seen
from inventory.views import drawers as drawer_views
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_supplier
from tests.inventory.builders import errors_of, post, texts

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def test_tray_ten_stands_after_tray_nine() -> None:
    for tray in ("10", "9", "2"):
        a_drawer("A", tray)
    assert [tray.name for tray in cabinets()[0].trays] == ["2", "9", "10"]


def test_the_overview_counts_parts_and_pieces_once() -> None:
    drawer, part = a_drawer(), a_part()
    a_drawer("A", "2")
    for _ in range(2):
        a_lot(part, count=10, drawer=drawer)
    a_lot(a_part("100 pF 500 V", technology="mica"), count=5, drawer=drawer)
    (cabinet,) = cabinets()
    assert (cabinet.pieces, cabinet.empty) == (25, 1)
    assert [(one.part_kinds, one.pieces) for one in cabinet.drawers] == [(2, 25), (0, 0)]  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("typed", "codes"),
    [
        ({"cabinet": "A", "tray": "1"}, ["A / 1"]),
        ({"cabinet": "A", "tray": "9", "how_many": "3"}, ["A / 10", "A / 11", "A / 9"]),
        ({"cabinet": "A", "tray": "1", "compartment": "1", "how_many": "2"}, ["A / 1 / 1", "A / 1 / 2"]),
        ({"cabinet": "Over the  bench", "tray": "left"}, ["Over the bench / left"]),
    ],
)
def test_drawers_are_made_singly_or_in_a_row(typed: dict[str, str], codes: list[str], colleague_client: Client) -> None:
    assert post(colleague_client, "inventory:drawer_new", **{"how_many": "1", **typed}).status_code == 302
    assert sorted(drawer.code for drawer in Drawer.objects.all()) == codes


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"tray": ""}, "tray", "This field is required."),
        ({"tray": "1/2"}, "tray", "Leave the stroke out: it parts cabinet, tray and compartment."),
        (
            {"tray": "left", "how_many": "3"},
            "tray",
            "A row of drawers starts from a number. Type a number, or make one drawer at a time.",
        ),
        ({"how_many": "0"}, "how_many", "Ensure this value is greater than or equal to 1."),
        ({"how_many": "201"}, "how_many", "Ensure this value is less than or equal to 200."),
        ({"cabinet": "q", "tray": "7"}, "cabinet", "There is a drawer Q / 7 already."),
        ({"cabinet": "Q", "tray": "5", "how_many": "4"}, "cabinet", "There is a drawer Q / 7 already."),
    ],
)
def test_a_bad_drawer_is_refused_and_none_is_made(typed: dict[str, str], field: str, text: str, colleague_client: Client) -> None:
    a_drawer("Q", "7")
    answer = post(colleague_client, "inventory:drawer_new", **{"cabinet": "A", "tray": "1", "how_many": "1", **typed})
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [text]
    assert Drawer.objects.count() == 1


def test_a_drawer_is_named_anew_and_the_second_editor_is_told(colleague_client: Client) -> None:
    drawer = a_drawer()
    typed: dict[str, Any] = {"cabinet": "B", "tray": "1", "seen": drawer_seen(drawer)}
    assert post(colleague_client, "inventory:drawer_change", drawer.pk, **typed).status_code == 302
    answer = post(colleague_client, "inventory:drawer_change", drawer.pk, **{**typed, "cabinet": "C"})
    assert errors_of(answer)["__all__"] == ["Somebody else named this drawer anew since you opened it. Compare, then send again."]
    drawer.refresh_from_db()
    assert drawer.code == "B / 1"


def test_a_drawer_shows_what_is_in_it(colleague_client: Client) -> None:
    lot = a_lot(supplier=a_supplier())
    page = texts(colleague_client.get(reverse("inventory:drawer", args=[a_drawer().pk])))
    assert lot.part.title in page
    assert "Ferrule &amp; Daughters" in page


def sheet(client: Client, *drawers: Drawer, **asked: Any) -> Any:
    return client.get(reverse("inventory:labels_pdf"), {"drawer": [str(one.pk) for one in drawers], "sheet": "a4-24", **asked})


def test_labels_carry_code_and_contents(colleague_client: Client) -> None:
    first, second = a_drawer(), a_drawer("A", "2")
    a_lot(a_part("0.047 µF 630 V"), drawer=first)
    answer = sheet(colleague_client, first, second, used_up="23")
    assert answer["Content-Type"] == "application/pdf"
    pages = [page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages]
    assert "A / 1" in pages[0]
    assert "0.047 µF 630 V" in pages[0]
    assert "A / 2" in pages[1]


def test_labels_of_no_drawer_are_asked_for_again(colleague_client: Client) -> None:
    answer = colleague_client.get(reverse("inventory:labels_pdf"), {"sheet": "a4-24"})
    assert answer.status_code == 422
    assert "Drawers: Choose at least one drawer." in texts(answer)


@pytest.mark.parametrize("asked", [{"drawer": "x", "sheet": "a4-24"}, {"drawer": "1", "sheet": "A0"}, {"drawer": "9" * 30}])
def test_labels_asked_for_wrongly_are_refused(asked: dict[str, str], colleague_client: Client) -> None:
    assert colleague_client.get(reverse("inventory:labels_pdf"), asked).status_code == 422


def test_the_label_of_a_bag_names_lot_and_drawer(colleague_client: Client) -> None:
    lot = a_lot(supplier=a_supplier(), date_code="2541")
    answer = colleague_client.get(reverse("inventory:lot_label", args=[lot.pk]))
    words = PdfReader(BytesIO(answer.content)).pages[0].extract_text()
    assert f"lot {lot.pk}" in words
    assert "2541" in words


def supplier_form(**typed: Any) -> dict[str, Any]:
    return {"name": "Ohm & Sons", "return_days": "30", "lead_days": "7", **typed}


def test_a_supplier_is_written_down_once(counter_client: Client) -> None:
    assert post(counter_client, "inventory:supplier_new", **supplier_form()).status_code == 302
    answer = post(counter_client, "inventory:supplier_new", **supplier_form(name="OHM & sons"))
    assert errors_of(answer)["name"] == ["Ohm & Sons is written down already."]
    assert Supplier.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"name": " "}, "name", "This field is required."),
        ({"return_days": "-1"}, "return_days", "Ensure this value is greater than or equal to 0."),
        ({"return_days": "99999"}, "return_days", "Ensure this value is less than or equal to 3650."),
        ({"email": "nowhere"}, "email", "Enter a valid email address."),
    ],
)
def test_a_bad_supplier_is_refused(typed: dict[str, str], field: str, text: str, counter_client: Client) -> None:
    answer = post(counter_client, "inventory:supplier_new", **supplier_form(**typed))
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [text]


def test_two_correct_one_supplier_and_the_second_is_told(counter_client: Client) -> None:
    supplier = a_supplier()
    seen = supplier_seen(supplier)
    for phone, status in (("0171 496 0000", 302), ("0171 496 0999", 422)):
        form = supplier_form(name=supplier.name, phone=phone, seen=seen)
        assert post(counter_client, "inventory:supplier_change", supplier.pk, **form).status_code == status
    supplier.refresh_from_db()
    assert supplier.phone == "0171 496 0000"


def test_a_shop_of_many_drawers_is_shown_a_cabinet_at_a_time(colleague_client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawer_queries, "MOST_DRAWERS", 3)
    monkeypatch.setattr(drawer_views, "MOST_DRAWERS", 3)
    for tray in range(1, 6):
        a_drawer("A", f"left {tray}")
    there = a_drawer("B", "1")
    a_lot(a_part("0.047 µF 630 V"), drawer=there)
    address = reverse("inventory:drawers")
    first = texts(colleague_client.get(address))
    assert "5 drawers" not in first
    assert ("Rows 1–3 of 5" in first, "left 3" in first, "left 4" in first, "0.047" in first) == (True, True, False, False)
    assert "left 5" in texts(colleague_client.get(address, {"cabinet": "A", "page": "2"}))
    assert "0.047 µF 630 V" in texts(colleague_client.get(address, {"cabinet": "B"}))
    found = texts(colleague_client.get(address, {"q": ".047"}))
    assert "lies in 1 drawer; those of the cabinet below are marked." in found
    assert "Front of cabinet B" in found
    assert "Front of cabinet A" in texts(colleague_client.get(address, {"cabinet": "zebra"}))
    labels = reverse("inventory:labels")
    assert f'value="{there.pk}"' not in texts(colleague_client.get(labels))
    for query in ({"cabinet": "B"}, {"drawer": str(there.pk)}):
        assert f'value="{there.pk}"' in texts(colleague_client.get(labels, query))
