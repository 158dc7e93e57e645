"""Leafing through a list: nothing twice and nothing left out, whatever is added or removed between two pages."""

from base64 import urlsafe_b64encode
from datetime import date, timedelta
from typing import Any

import pytest
from django.db.models import Count, F, QuerySet
from django.http import HttpRequest
from django.test import RequestFactory
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest_django import DjangoAssertNumQueries

from inventory.models import Kind, Lot, Part, Supplier
from inventory.queries.lots import ledger, listed_lots
from shop.web.leafing import Leaf, leaf_of
from shop.web.row_order import keys_of, mark_of, values_of
from tests.builders import a_customer
from tests.plans import plans_of

pytestmark = pytest.mark.django_db
DAY = date(2026, 3, 2)


def look(rows: Any, page: str = "", size: int = 3) -> Leaf:
    return leaf_of(at(page), rows, size)


def at(page: str) -> HttpRequest:
    return RequestFactory().get("/", {"page": page} if page else {})


def some_parts(values: list[tuple[str, float | None, int]]) -> None:
    Part.objects.bulk_create(
        Part(kind=kind, value_si=value, marking=f"M{minimum}", minimum=minimum) for kind, value, minimum in values
    )


ORDERS: list[tuple[Any, ...]] = [
    (),
    ("marking",),
    ("-marking", "value_si"),
    ("value_si",),
    ("-value_si", "marking"),
    ("kind", "-value_si", "pk"),
    (F("value_si").asc(nulls_last=True), "-pk"),
    (F("value_si").desc(nulls_last=True), "-pk"),
    (F("value_si").desc(nulls_first=True), "kind"),
    ("lots_known", "-marking"),
    ("-pk",),
]
KINDS = st.sampled_from([Kind.CAPACITOR, Kind.VALVE])
CARDS = st.tuples(KINDS, st.sampled_from([None, 1e-9, 4.7e-8, 0.1]), st.integers(0, 4))


def parts_in(order: tuple[Any, ...]) -> "QuerySet[Part]":
    rows = Part.objects.annotate(lots_known=Count("lots"))
    return rows.order_by(*order) if order else rows


@given(
    st.lists(CARDS, min_size=1, max_size=14),
    st.lists(st.tuples(st.lists(CARDS, max_size=3), st.lists(st.integers(0, 13), max_size=3)), max_size=8),
    st.sampled_from(ORDERS),
    st.booleans(),
)
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_comes_or_goes_between_pages_no_row_shows_twice_and_none_that_stays_is_left_out(
    cards: list[Any], meanwhile: list[tuple[list[Any], list[int]]], order: tuple[Any, ...], backwards: bool
) -> None:
    Part.objects.all().delete()
    some_parts(cards)
    known = sorted(Part.objects.values_list("pk", flat=True))
    rows, changes, seen = parts_in(order), iter(meanwhile), []
    page = look(rows, "last" if backwards else "")
    while True:
        seen += [part.pk for part in page]
        on = page.before if backwards else page.after
        if not on:
            break
        come, gone = next(changes, ([], []))
        Part.objects.filter(pk__in=[known[index % len(known)] for index in gone]).delete()
        some_parts(come)
        page = look(rows, on)
        # Where all behind the place went meanwhile, the nearest page is shown once more.
        if page.is_end or (backwards and page.start == 1 and not page.before and {part.pk for part in page} & set(seen)):
            break
    assert len(set(seen)) == len(seen)
    assert set(known) & set(Part.objects.values_list("pk", flat=True)) <= set(seen)


@pytest.mark.parametrize("order", ORDERS)
def test_walking_gives_the_order_that_the_whole_list_has(order: tuple[Any, ...]) -> None:
    some_parts([(Kind.VALVE, None, 1), (Kind.CAPACITOR, 1e-9, 2), (Kind.VALVE, None, 1), (Kind.CAPACITOR, None, 0)] * 2)
    some_parts([(Kind.CAPACITOR, 4.7e-8, 3), (Kind.VALVE, 1e-9, 2)] * 2)
    rows = parts_in(order)
    page = look(rows)
    walked = list(page)
    while page.after:
        page = look(rows, page.after)
        walked += page
    last = order[-1] if order else "pk"
    is_descending = last.startswith("-") if isinstance(last, str) else last.descending
    whole = rows.order_by(*(order or Part._meta.ordering or ()), "-pk" if is_descending else "pk")
    assert [part.pk for part in walked] == [part.pk for part in whole]
    page = look(rows, "last")
    back = [*page]
    while page.before:
        page = look(rows, page.before)
        back = [*page, *back]
    assert [p.pk for p in back] == [p.pk for p in walked]


@pytest.mark.parametrize("order", ORDERS)
def test_rows_that_are_chosen_before_they_are_joined_are_the_same(
    order: tuple[Any, ...],
) -> None:
    some_parts([(Kind.VALVE, None, 1), (Kind.CAPACITOR, 1e-9, 2), (Kind.CAPACITOR, None, 0), (Kind.CAPACITOR, 4.7e-8, 3)] * 3)
    rows = parts_in(order).filter(kind=Kind.CAPACITOR)
    for page in ("", "2", "last", look(rows).after, look(rows, "last").before):
        plain = look(rows, page)
        chosen = leaf_of(at(page), rows, 3, shown=parts_in(order))
        assert [part.pk for part in chosen] == [part.pk for part in plain]
        assert [part.lots_known for part in chosen] == [part.lots_known for part in plain]
        assert (chosen.words, chosen.before, chosen.after) == (plain.words, plain.before, plain.after)


def test_what_counts_sooner_is_asked_how_many_there_are() -> None:
    some_parts([(Kind.VALVE, None, number) for number in range(7)])
    leaf = leaf_of(at(""), Part.objects.order_by("minimum"), 3, to_count=Part.objects.filter(minimum__lt=5))
    assert leaf.words == "Rows 1–3 of 5"


def test_a_page_says_which_rows_it_shows_of_how_many() -> None:
    some_parts([(Kind.VALVE, None, number) for number in range(10)])
    rows = Part.objects.order_by("minimum")
    first = look(rows)
    second = look(rows, first.after)
    assert first.words == "Rows 1–3 of 10"
    assert second.words == "Rows 4–6 of 10"
    assert look(rows, "last").words == "Rows 8–10 of 10"
    assert look(rows, look(rows, "last").before).words == "Rows 5–7 of 10"
    assert (first.before, first.first, look(rows, "last").after) == ("", "", "")
    Part.objects.create(kind=Kind.VALVE, marking="EL84", minimum=0)
    assert look(rows, first.after).words == "Rows 5–7 of 11"


def test_a_long_list_is_not_counted_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shop.web.leafing.MOST_COUNTED", 5)
    some_parts([(Kind.VALVE, None, number) for number in range(12)])
    rows = Part.objects.order_by("minimum")
    first = look(rows)
    deep = look(rows, look(rows, first.after).after)
    assert first.words == "Rows 1–3 of more than 5"
    assert deep.words == "3 of more than 5 rows"
    assert [part.minimum for part in deep] == [6, 7, 8]
    assert look(rows, "last").words == "The last 3 of more than 5 rows"


@pytest.mark.parametrize(("asked", "first"), [("2", 3), ("4", 9), ("999", 9), ("0", 0), ("x", 0), ("after-", 0), ("last-x", 0)])
def test_an_address_with_a_number_still_leads_to_that_page(asked: str, first: int) -> None:
    some_parts([(Kind.VALVE, None, number) for number in range(10)])
    assert look(Part.objects.order_by("minimum"), asked)[0].minimum == first


@pytest.mark.parametrize(
    "said",
    [
        b"[]",
        b"[1]",
        b"[null,1]",
        b'["\\u0000",1]',
        b'["\\ud800",1]',
        b"[1,99999999999999999999]",
        b"[[1],1]",
        b"{}",
        b"\xff",
    ],
)
def test_a_mark_that_nobody_made_here_shows_the_first_page(said: bytes) -> None:
    some_parts([(Kind.VALVE, None, number) for number in range(4)])
    page = look(Part.objects.order_by("marking"), f"after-{urlsafe_b64encode(said).decode().rstrip('=')}")
    assert page[0].minimum == 0
    assert look(Part.objects.order_by("marking"), "after-" + "A" * 9_000)[0].minimum == 0


def test_days_moments_and_columns_of_other_tables_are_walked_by() -> None:
    part = Part.objects.create(kind=Kind.VALVE, marking="EL84")
    owners = [None, a_customer("Zofia Brzask"), a_customer("Adela Brzask")]
    for number in range(9):
        supplier = Supplier.objects.create(name=f"Hut {number % 4}{number}") if number % 4 else None
        Lot.objects.create(
            part=part, supplier=supplier, received_on=DAY + timedelta(number % 3), unit_cost_milli=0, owner=owners[number % 3]
        )
    for order in (("received_on",), ("-supplier__name",), ("supplier",), ("owner__created_at", "-received_on"), ("owner__name",)):
        rows = listed_lots().order_by(*order)
        page, walked = look(rows), []
        while True:
            walked += [lot.pk for lot in page]
            if not page.after:
                break
            page = look(rows, page.after)
        assert walked == [lot.pk for lot in rows.order_by(*order, "-pk" if order[-1].startswith("-") else "pk")]


def test_a_mark_says_the_same_after_its_way_through_an_address() -> None:
    one = a_customer("Łucja Brzask-Ó")
    keys = keys_of(type(one).objects.order_by("-created_at", "name"))
    assert keys is not None
    assert values_of(mark_of(one, keys), keys) == [one.created_at, one.name, one.pk]


def test_a_page_asks_as_often_deep_in_the_list_as_near_its_beginning(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    some_parts([(Kind.VALVE, None, number) for number in range(20)])
    rows = Part.objects.order_by("minimum")
    first = look(rows)
    for page in (first.after, look(rows, look(rows, first.after).after).after):
        with django_assert_num_queries(3):
            look(rows, page)
    for page in ("", "2", "last"):
        with django_assert_num_queries(2):
            look(rows, page)
        with django_assert_num_queries(2):
            leaf_of(at(page), rows, 3, shown=Part.objects.all())


@pytest.mark.looks
def test_the_way_on_begins_at_its_place_in_the_index() -> None:
    some_parts([(Kind.CAPACITOR, 1e-9, number) for number in range(8)])
    rows = Part.objects.all()
    first = look(rows)
    plans = plans_of(lambda: (look(rows, first.after), look(rows, "last"), look(ledger(), "last")))
    assert [line for line in plans if "TEMP B-TREE" in line] == []
    assert [line for line in plans if line.startswith("SEARCH inventory_part USING INDEX part_in_order ((kind,value_si")]


@pytest.mark.looks
def test_rows_are_chosen_by_their_keys_before_anything_is_joined_to_them() -> None:
    plans = plans_of(lambda: leaf_of(at("last"), ledger(), shown=ledger()))
    assert "SEARCH inventory_movement USING INTEGER PRIMARY KEY (rowid=?)" in plans
    assert not [line for line in plans if line.startswith(("SCAN shop_staff", "SEARCH inventory_movement USING INDEX"))]
