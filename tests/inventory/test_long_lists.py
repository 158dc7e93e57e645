"""Lists of many years: the same rows as a short way would find, by ways that end soon."""

import pytest
from django.test import Client
from django.urls import reverse

from inventory import filters, services, tables
from inventory.models import Kind, Movement, Part
from inventory.queries import drawers, parts, suppliers
from inventory.queries.individuals import individuals
from inventory.queries.lots import ledger, listed_lots, lying
from inventory.queries.parts import matching_at, parts_matching
from inventory.queries.supplier_bills import listed_bills
from shop.clock import now
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff, a_supplier
from tests.conftest import StillClock
from tests.inventory.builders import texts
from tests.inventory.orders import a_bill, a_sent_order, draft_line, line_of
from tests.plans import plans_of


@pytest.fixture(autouse=True)
def _shop(db: None, still_clock: StillClock) -> None:
    a_profile()


def some_lots() -> None:
    for marking, kind in (("0.1 µF 630 V", Kind.CAPACITOR), ("100 nF 250 V", Kind.CAPACITOR), ("100 kΩ", Kind.RESISTOR)):
        a_lot(a_part(marking, kind), 3)
        a_lot(a_part(marking, kind), 5)


@pytest.mark.parametrize("text", ["0.1", "100n", "100 kΩ", "630", "ohm 1", "nothing of it", "%", " "])
def test_a_part_is_found_from_a_row_that_leads_to_it_as_in_its_own_list(text: str) -> None:
    some_lots()
    found = Movement.objects.filter(matching_at("lot__part__", text)).order_by().values_list("lot__part", flat=True).distinct()
    assert set(found) == set(parts_matching(text).values_list("pk", flat=True))


@pytest.mark.parametrize("text", ["0.1", "100", "630", "nothing of it"])
@pytest.mark.parametrize("few", [0, 1, 200])
def test_movements_of_many_parts_are_those_that_are_found_part_by_part(
    text: str, few: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    some_lots()
    monkeypatch.setattr(filters, "FEW_PARTS", few)
    found = filters.MovementFilter({"q": text, "kind": "received"}, queryset=ledger())
    matching = list(parts_matching(text))
    assert list(found.qs) == list(ledger().filter(lot__part__in=matching))
    assert set(found.to_count()) == set(found.qs)
    lots = filters.LotFilter({"q": text}, queryset=listed_lots())
    assert set(lots.qs) == set(lots.to_count()) == set(listed_lots().filter(part__in=matching))


@pytest.mark.parametrize("named", [0, 1, 3_000])
def test_parts_named_by_keys_are_those_that_are_asked_for(named: int, monkeypatch: pytest.MonkeyPatch) -> None:
    some_lots()
    monkeypatch.setattr(parts, "MOST_NAMED", named)
    assert set(parts_matching("100")) == set(Part.objects.filter(pk__in=parts.parts_called("100")))


def test_a_suppliers_many_lots_are_counted_no_further_than_anybody_tells_apart(
    owner_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(suppliers, "MOST_LOTS_COUNTED", 2)
    monkeypatch.setattr(tables, "MOST_LOTS_COUNTED", 2)
    many, few = a_supplier("Ferrule & Daughters"), a_supplier("Tinplate Mews")
    for _ in range(4):
        a_lot(a_part(), 1, supplier=many)
    a_lot(a_part(), 1, supplier=few)
    shown = texts(owner_client.get(reverse("inventory:suppliers")))
    assert "more than 2" in shown
    counts = {one.name: (one.lot_count, one.last_on) for one in suppliers.listed()}  # type: ignore[attr-defined]
    plain = {one.name: one.last_on for one in suppliers.counted_out()}  # type: ignore[attr-defined]
    assert counts == {"Ferrule & Daughters": (3, plain["Ferrule & Daughters"]), "Tinplate Mews": (1, plain["Tinplate Mews"])}
    saved = owner_client.get(reverse("inventory:suppliers") + "?as=csv").content.decode()
    assert ",4," in saved.splitlines()[1]


@pytest.mark.looks
def test_bills_are_read_in_the_order_of_an_index_from_either_end() -> None:
    plans = plans_of(lambda: (list(listed_bills().values("pk")[:50]), list(listed_bills().reverse().values("pk")[:50])))
    assert [line for line in plans if "bill_in_order" not in line] == []


def some_drawers() -> None:
    for cabinet, tray, compartment in (("A", "2", ""), ("A", "10", "1"), ("a", "1", ""), ("Über", "1", ""), ("AB", "1", "")):
        a_drawer(cabinet, tray, compartment)


@pytest.mark.parametrize(
    ("typed", "codes"),
    [
        ("", []),
        (" / ", []),
        ("a", ["A / 2", "A / 10 / 1", "AB / 1", "a / 1"]),
        ("a/", ["A / 2", "A / 10 / 1", "a / 1"]),
        ("A / 1", ["A / 10 / 1", "a / 1"]),
        ("a/10/", ["A / 10 / 1"]),
        ("a/10/1/", []),
        ("uber", ["Über / 1"]),
        ("nowhere", []),
        ("%", []),
    ],
)
def test_codes_are_suggested_as_one_types_them(typed: str, codes: list[str], counter_client: Client) -> None:
    some_drawers()
    answer = counter_client.get(reverse("inventory:drawer_codes"), {"q": typed})
    assert sorted(answer.json()["codes"]) == sorted(codes)
    for code in codes:
        assert drawers.drawer_called(code.lower().replace(" ", "")) is not None


def test_a_page_of_a_shop_of_many_drawers_carries_none_of_their_codes(
    counter_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    some_drawers()
    address = f"{reverse('inventory:receive')}?part={a_part().pk}"
    assert '<option value="A / 10 / 1">' in counter_client.get(address).content.decode()
    monkeypatch.setattr(drawers, "MOST_DRAWERS", 4)
    shown = counter_client.get(address).content.decode()
    assert "A / 10 / 1" not in shown
    assert f'data-drawer-codes="{reverse("inventory:drawer_codes")}"' in shown


@pytest.mark.parametrize("few", [0, 200])
def test_lots_are_found_by_a_piece_of_their_date_code(few: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(filters, "FEW_CODES", few)
    lots = [a_lot(a_part(), 1, date_code=code) for code in ("84-12", "8412", "", "ab84")]
    found = filters.LotFilter({"date_code": "84", "show": "all"}, queryset=listed_lots())
    assert set(found.qs) == {lots[0], lots[1], lots[3]}
    assert set(filters.LotFilter({"date_code": "AB", "show": "all"}, queryset=listed_lots()).qs) == {lots[3]}


def test_an_individual_is_found_by_its_mark_and_by_the_words_of_its_part() -> None:
    lot = a_lot(a_part("EL84", Kind.VALVE), 3)
    a_lot(a_part("12SK7", Kind.VALVE), 1)
    services.set_apart(lot, lying(lot).get().drawer, ["V12", "V13"], person=a_staff(), at=now())
    assert [one.mark for one in individuals("el84")] == ["V12", "V13"]
    assert [one.mark for one in individuals(" v13 ")] == ["V13"]
    assert [one.mark for one in individuals(" ")] == ["V12", "V13"]
    assert not individuals("12SK7")


@pytest.mark.parametrize("few", [0, 200])
def test_bills_are_found_by_a_piece_of_their_number(few: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(filters, "FEW_BILLS", few)
    line = line_of(a_sent_order(draft_line(count=30)))
    first, _, third = (a_bill(line, 10, number=number) for number in ("R 1207", "S 88", "xr 12"))
    found = filters.SupplierBillFilter({"q": "R 12"}, queryset=listed_bills())
    assert set(found.qs) == {first, third}
